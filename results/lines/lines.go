// Package lines reads a replication from its line in a file of records, and such
// files line by line.
//
// It knows records, not what the files are for. It is tested by reading back what
// encoding/json wrote, and against bufio's own reader of lines.
package lines

import (
	"bytes"
	"encoding/json"
	"errors"

	"halflight/sim/record"
)

// Strict reads one line into a value; unknown keys and a second value are errors.
func Strict(line []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if d.More() {
		return errors.New("more than one value in the line")
	}
	return nil
}

// Read reads a line into an empty replication; lean, the lost share by slot is passed
// over.
func Read(line []byte, lean bool, r *record.Replication) error {
	if !lean {
		return Strict(line, r)
	}
	var one leanReplication
	err := json.Unmarshal(line, &one) // what a line holds beyond it is found out by its hash
	*r = one.Replication
	s := &one.Series
	r.Series = record.Series{Slot: s.Slot, Wide: s.Wide, Gray: s.Gray, Unseen: s.Unseen, States: s.States}
	return err
}

// leanReplication is a replication without what takes most of its line and no
// figure is made of: the lost share by slot.
type leanReplication struct {
	record.Replication
	Series struct {
		Slot   int64       `json:"slot"`
		Wide   int         `json:"wide"`
		Gray   []float32   `json:"gray"`
		Unseen []float32   `json:"unseen"`
		States [][]float32 `json:"states"`
	} `json:"series"`
}
