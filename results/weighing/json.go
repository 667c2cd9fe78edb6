package weighing

import (
	"encoding/json"
	"io"
)

// WriteJSON writes the answer as one JSON value.
func (w *Weighing) WriteJSON(to io.Writer) error {
	q := w.Question
	out := struct {
		Halflight  string    `json:"halflight"` // "weighing"
		Format     int       `json:"format"`
		Scenario   string    `json:"scenario"`
		Seed       uint64    `json:"seed"`
		Asked      int       `json:"asked"`
		WarmUp     int64     `json:"warm_up"` // ns
		Horizon    int64     `json:"horizon"` // ns
		Level      float64   `json:"level"`
		Whole      bool      `json:"whole"`           // routers were played too
		Complaints []float64 `json:"complaint_times"` // s
		*Weighing
		Sentences []string `json:"sentences"`
	}{"weighing", 1, q.Scenario, q.Seed, q.Asked, q.WarmUp, q.Horizon, q.Level, q.Whole, q.Complaints, w, w.Sentences()}
	if out.Complaints == nil {
		out.Complaints = []float64{}
	}
	for _, list := range []*[]Line{&w.Alone, &w.Beside, &w.Bundles, &w.Order} {
		if *list == nil {
			*list = []Line{}
		}
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(out)
}
