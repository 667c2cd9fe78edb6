package studies

import (
	"bytes"
	"strings"

	"halflight/model"
	"halflight/model/setting"
	"halflight/scenarios"
)

// SpelledOut makes room for arguments of --set that change an entry of a list
// which the scenario leaves to its defaults, or gets from them by "use: default":
// the list in force, as the other arguments leave it, is written out before they
// apply. It returns nil when that is not what is wrong.
func SpelledOut(file string, text []byte, set []string) []string {
	var plain, entries []string
	lists := map[string]bool{}
	for _, s := range set {
		key, _, _ := strings.Cut(s, "=")
		list, rest, deep := strings.Cut(strings.TrimSpace(key), ".")
		if deep && strings.Contains(rest, ".") && (list == "failures" || list == "telemetry" || list == "applications") {
			lists[list] = true
			entries = append(entries, s)
			continue
		}
		plain = append(plain, s)
	}
	if len(entries) == 0 {
		return nil
	}
	scenario, problems := scenarios.Parse(file, text, plain...)
	if problems.Any() {
		return nil
	}
	settings := model.Resolve(scenario)
	for _, list := range []string{"applications", "telemetry", "failures"} {
		var of []setting.Setting
		for _, s := range settings {
			if strings.HasPrefix(s.Path, list+".") {
				of = append(of, s)
			}
		}
		if lists[list] && len(of) > 0 {
			_, entries, _ := bytes.Cut(setting.YAML(of), []byte("\n")) // without its key
			plain = append(plain, list+"="+string(entries))
		}
	}
	return append(plain, entries...)
}
