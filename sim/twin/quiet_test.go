package twin

import "testing"

// GenerateQuick is a script of Generate in which quiet times of the families of RFC 8541
// are shorter than their longest delays, so that many end while the SPF timer runs.
func GenerateQuick(seed uint64) string {
	return altered(Generate(seed), func(out map[string]any, _ *fabric) {
		for _, family := range out["timers"].(map[string]any)["spf"].(map[string]any) {
			if p := family.(map[string]any); p["wait_time"] != nil {
				p["wait_time"] = []string{"50ms", "150ms", "300ms", "700ms"}[seed%4]
			}
		}
	})
}

// The fast engine and the plain program agree where quiet times are short.
func TestEngineAgreesWithTwinOnShortQuietTimes(t *testing.T) { agree(t, GenerateQuick, 120) }
