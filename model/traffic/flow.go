package traffic

import "math"

// Law says how the rate of a flow follows its loss.
type Law uint8

// The laws.
const (
	Equation   Law = iota // the throughput equation of RFC 5348 section 3.1
	SquareRoot            // the response function of RFC 3649 section 5, above 1e-3 of loss too high
	GoBackN               // a lost packet costs all sent since: whole at 1e-5 of loss, nothing at 1e-2
)

// String returns the law as a scenario writes it.
func (l Law) String() string { return [...]string{"rfc5348", "square_root", "go_back_n"}[l] }

// Flow is a long transfer of which rate matters.
type Flow struct {
	Law       Law
	RoundTrip float64 // s
	Segment   float64 // bytes
	Rate      float64 // bit/s that it has without loss
	Least     float64 // share of that which it needs, above 0, at most 1
}

// Reach returns the share of its rate that a flow has at a loss: its law's rate,
// at most what it has without loss. timeOut is the least retransmission time-out,
// s; the equation takes the greater of it and four round trips.
func (f *Flow) Reach(loss, timeOut float64) float64 {
	if loss <= 0 {
		return 1
	}
	rate := 0.0
	switch f.Law {
	case GoBackN:
		const whole, nothing = 1e-5, 1e-2
		return min(max(math.Log(nothing/loss)/math.Log(nothing/whole), 0), 1)
	case SquareRoot:
		rate = f.Segment * 1.2 / (f.RoundTrip * math.Sqrt(loss))
	default:
		rto := max(4*f.RoundTrip, timeOut)
		rate = f.Segment / (float64(f.RoundTrip*math.Sqrt(2*loss/3)) + float64(rto*3*math.Sqrt(3*loss/8)*loss*(1+float64(32*loss*loss))))
	}
	return min(8*rate/f.Rate, 1)
}

// Bearable returns the largest loss at which a flow still has what it needs, to
// six digits; 1 if none takes it away.
func (f *Flow) Bearable(timeOut float64) float64 {
	if f.Reach(1, timeOut) >= f.Least {
		return 1
	}
	low, high := -30.0, 0.0 // of the loss, by powers of ten
	for range 60 {
		if half := (low + high) / 2; f.Reach(math.Pow(10, half), timeOut) >= f.Least {
			low = half
		} else {
			high = half
		}
	}
	p := math.Pow(10, low)
	digits := math.Pow(10, 5-math.Floor(math.Log10(p)))
	return math.Floor(p*digits) / digits
}
