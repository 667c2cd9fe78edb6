package reliability

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Backoff is the SPF delay of RFC 8405 section 3; all five in any one unit of time, rates per that unit.
type Backoff struct {
	Initial  float64 // delay of an event met in QUIET
	Short    float64 // in SHORT_WAIT
	Long     float64 // in LONG_WAIT
	Learn    float64 // from the first event to LONG_WAIT
	Holddown float64 // from the last event back to QUIET
}

// The MUST of RFC 8405 section 3, and what the two laws below need beyond it.
var (
	ErrHolddown = errors.New("reliability: the hold-down must exceed the time to learn (RFC 8405 section 3)")
	ErrPoisson  = errors.New("reliability: the closed form under Poisson events needs initial delay <= time to learn and long delay < hold-down")
)

func (b Backoff) check() error {
	require(b.Initial >= 0 && b.Short >= 0 && b.Long >= 0 && b.Learn >= 0, "delays must not be negative")
	if b.Holddown > b.Learn {
		return nil
	}
	return ErrHolddown
}

// BackoffLoad is what a Backoff does in the long run under events of a Poisson stream.
type BackoffLoad struct {
	Quiet, ShortWait, LongWait float64 // shares of time; they add to 1
	BusyMean                   float64 // mean stretch away from QUIET
	EventsPerBusy              float64 // events in one such stretch
	Cycle                      float64 // mean time from one departure from QUIET to the next
	RunsPerBusy                float64 // SPF runs in one stretch: 1 + ShortRuns + LongRuns
	ShortRuns, LongRuns        float64 // of these, armed in SHORT_WAIT and in LONG_WAIT
	RunRate                    float64 // SPF runs per unit of time
	EventsPerRun               float64
	WaitMean                   float64 // from an event to the SPF run it gets; of a fresh event at a random moment too
}

// UnderPoisson solves a Backoff under Poisson events of the given rate, > 0. Since hold-down exceeds the time to learn,
// SHORT_WAIT lasts exactly the time to learn and every busy stretch, of a single event too, goes on in LONG_WAIT.
//
// Runs armed in SHORT_WAIT are M = sum over j >= 1 of P(j events in Learn - Initial - (j-1) Short). The chance that a
// timer of D ends the stretch's events is q(D) = exp(-rate H)(1 + rate D), and exactly one run of a stretch does, hence
// LongRuns = (1 - q(Initial) - q(Short) M) / q(Long). The derivation is ours; no publication is known.
// Means beyond 1e308 come out as +Inf, rates and shares do not.
func (b Backoff) UnderPoisson(rate float64) (BackoffLoad, error) {
	require(rate > 0, "a rate of events must be above 0")
	if err := b.check(); err != nil {
		return BackoffLoad{}, err
	}
	if b.Initial > b.Learn || b.Long >= b.Holddown {
		return BackoffLoad{}, ErrPoisson
	}
	quiet := math.Exp(-rate * b.Holddown)
	short := b.shortRuns(rate)
	// LongRuns x quiet, the finite part where exp(rate H) is beyond float64.
	ending := float64(quiet*rate*b.Initial) + float64(quiet*(1+float64(rate*b.Short))*short)
	longQuiet := (-math.Expm1(-rate*b.Holddown) - ending) / (1 + float64(rate*b.Long))
	l := BackoffLoad{
		Quiet:         quiet,
		ShortWait:     rate * b.Learn * quiet,
		LongWait:      -math.Expm1(-rate*b.Holddown) - float64(rate*b.Learn*quiet),
		BusyMean:      math.Expm1(rate*b.Holddown) / rate,
		EventsPerBusy: math.Exp(rate * b.Holddown),
		ShortRuns:     short,
		LongRuns:      longQuiet / quiet,
		RunRate:       rate * (float64(quiet*(1+short)) + longQuiet),
		WaitMean: float64(quiet*spent(b.Initial, rate)) + float64(quiet*short*spent(b.Short, rate)) +
			float64(longQuiet*spent(b.Long, rate)),
	}
	l.Cycle = l.EventsPerBusy / rate
	l.RunsPerBusy = 1 + short + l.LongRuns
	l.EventsPerRun = rate / l.RunRate
	return l, nil
}

// spent is the sum of the waits of the events that one timer of d serves: the one that armed it and those after.
func spent(d, rate float64) float64 { return d + float64(rate*d*d/2) }

// shortRuns is the mean number of runs armed in SHORT_WAIT in one busy stretch.
func (b Backoff) shortRuns(rate float64) float64 {
	room := b.Learn - b.Initial
	if b.Short == 0 { // every event of the window is a run
		return rate * room
	}
	sum := 0.0
	for j := 1; ; j++ {
		left := room - float64(float64(j-1)*b.Short)
		if left <= 0 {
			return sum
		}
		term := mathext.GammaIncReg(float64(j), rate*left)
		sum += term
		if term < smallTerm*sum {
			return sum
		}
	}
}

// PoissonBusy is the share of time within holddown after some event of a Poisson stream, the mean stretch of such time
// and the events in one: 1-exp(-rate H), (exp(rate H)-1)/rate, exp(rate H). Any one unit of time.
func PoissonBusy(rate, holddown float64) (share, stretch, events float64) {
	require(rate > 0 && holddown >= 0, "a busy share needs a rate above 0 and a hold-down of at least 0")
	return -math.Expm1(-rate * holddown), math.Expm1(rate*holddown) / rate, math.Exp(rate * holddown)
}
