package results

// Ended says what ended a study.
type Ended struct {
	By   EndedBy `json:"by,omitempty"`
	Text string  `json:"text,omitempty"` // in words
}

// EndedBy is a kind of end.
type EndedBy string

// What may end a study.
const (
	ByNumber    EndedBy = "replications" // all that were asked for
	ByPrecision EndedBy = "precision"    // the named measures are known well enough
	ByTime      EndedBy = "time"         // the time given was up
	BySignal    EndedBy = "signal"       // interrupted or terminated
)

// Answer is what an objective comes to.
type Answer string

// The three answers.
const (
	Met       Answer = "met"
	Missed    Answer = "missed"
	Undecided Answer = "undecided"
)

// Verdict is an objective with its answer.
type Verdict struct {
	Objective  string   `json:"objective"` // "spf_runs at most 3.00 per router and hour"
	Measure    string   `json:"measure"`
	Answer     Answer   `json:"answer"`
	Confidence float64  `json:"confidence,omitempty"` // one-sided; 0: judged on what was seen
	Text       string   `json:"text"`                 // why, in words
	Doubts     []string `json:"doubts"`               // codes of the warnings that travel with the figure
}
