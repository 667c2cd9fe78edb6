package results

// Varied is the inputs bar: the spread of measures over worlds in which the unsure
// inputs are drawn together over their documented ranges.
type Varied struct {
	Worlds       int     `json:"worlds"`
	Replications int     `json:"replications"` // of each world, with the same draws
	Inputs       int     `json:"inputs"`       // that were drawn
	Level        float64 `json:"level"`        // share of the worlds within a bar
	Bars         []Bar   `json:"bars"`
	Sentence     string  `json:"-"` // which input decides it
}

// Bar is the spread of one measure over the worlds: its quantiles (1-Level)/2, 0.5
// and (1+Level)/2.
type Bar struct {
	Measure string  `json:"measure"`
	Unit    string  `json:"unit"`
	Low     float64 `json:"low"`
	Middle  float64 `json:"median"`
	High    float64 `json:"high"`
}

// inputs is the third sentence: which input decides it.
func (s *Summary) inputs() string {
	if s.Varied != nil {
		return s.Varied.Sentence
	}
	return unsureInputs(s.Unsure)
}
