package tuner

import (
	"errors"
	"strconv"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/model/setting"
	"halflight/model/timer"
	"halflight/results/tuned"
	"halflight/scenarios"
)

// off is how a knob is spelled that means that what it belongs to is off.
const off = "off"

// dampingKey is what knobs of damping begin with.
const dampingKey = "detection.damping"

// spell is the value of a knob as a scenario has it.
func spell(k *timer.Knob, v int64) string {
	switch {
	case k.Off > 0 && v >= k.Off:
		return off
	case k.Whole:
		return strconv.FormatInt(v, 10)
	}
	return setting.Span(v)
}

// parseKnob reads the value of a knob.
func parseKnob(k *timer.Knob, text string) (int64, error) {
	text = strings.TrimSpace(text)
	if k.Whole {
		v, err := strconv.ParseInt(text, 10, 64)
		if err != nil || v < 1 {
			return 0, errors.New("is no whole number from 1 up")
		}
		return v, nil
	}
	d, err := scenarios.ParseDuration(text)
	if err != nil || d <= 0 {
		return 0, errors.New("is no time above 0, such as 20ms")
	}
	return int64(d), nil
}

// ParseFloor reads KEY=VALUE for a floor.
func ParseFloor(text string) (key, value string, err error) {
	key, value, ok := strings.Cut(text, "=")
	if key, value = strings.TrimSpace(key), strings.TrimSpace(value); !ok || key == "" || value == "" {
		return "", "", status.CommandLine("--floor %s: is no floor: write KEY=VALUE, such as detection.bfd.interval=20ms", text)
	}
	return key, value, nil
}

// Typed are the settings of the best, as --set takes them: of damping that is off
// only that it is, of damping that was off both of its knobs.
func Typed(a *tuned.Answer) (list []string) {
	was, is := damps(a, func(k tuned.Knob) string { return k.Present }), damps(a, func(k tuned.Knob) string { return k.Best })
	for _, k := range a.Knobs {
		damping := strings.HasPrefix(k.Key, dampingKey+".")
		if k.Best != k.Present && (!damping || is) || damping && is && !was {
			list = append(list, k.Key+"="+k.Best)
		}
	}
	if was && !is {
		list = append(list, dampingKey+"=false")
	}
	return list
}

// damps reports whether damping is on by what a knob is set to.
func damps(a *tuned.Answer, value func(k tuned.Knob) string) bool {
	for _, k := range a.Knobs {
		if k.Key == dampingKey+".cut_off" {
			return value(k) != off
		}
	}
	return false
}
