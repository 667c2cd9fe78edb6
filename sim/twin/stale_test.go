package twin

import "testing"

// Which fault strands is asked anew when adjacencies fall that no clock sees: a link that is dead with its light on,
// and then cut, is listed without the cut only until its ends have noticed that (S23).
func TestEngineAgreesWithTwinOnUnseenLinks(t *testing.T) {
	for _, at := range []string{"60s", "21s"} {
		text := `{"name":"a","horizon":"100s","random":false,"fabric":{"clos":{"pods":1,"leaves":4,"spines":1,"tops":0}},
"timers":{"spf":{"rfc8405":{"initial_delay":"50ms","short_delay":"200ms","long_delay":"5s","time_to_learn":"500ms","holddown":"10s"}},"lsp_generation":{"first_delay":"50ms","incremental_delay":"100ms","maximum_delay":"2s","wait_time":"4s"},"spf_run":"1ms"},
"fib":{"base":"5ms","per_prefix":"1ms","local_prune":true,"prune_delay":"0s"},
"flooding":{"per_hop":"2ms","exchange":"0s","pacing":false,"second_lsp_counts":true},
"overload":{"leaves":true,"until_ready":true},"restart":{"grace":"60s"},"hashing":"independent",
"detection":{"signal":"10ms","settle":"2s","bfd":false,"hello":false},
"script":[
{"at":"1s","on":"leaf-0-3~spine-0-0","kind":"hard"},
{"at":"10s","on":"leaf-0-0~spine-0-0","kind":"hard","light":true},
{"at":"20s","on":"leaf-0-0~spine-0-0","kind":"hard"},
{"at":"` + at + `","on":"leaf-0-1","kind":"drain"}]}`
		want, err := Play([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if d := Differ(want, engine(t, text)); d != "" {
			t.Errorf("at %s: %s", at, d)
		}
	}
}
