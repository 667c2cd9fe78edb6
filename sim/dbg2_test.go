package sim

import (
	"fmt"
	"os"
	"testing"
)

func TestDbg2(t *testing.T) {
	text, err := os.ReadFile(os.Getenv("SCN"))
	if err != nil {
		t.Skip()
	}
	w := build(t, "x", string(text))
	p := Script(w)
	fmt.Println(p.LostShare)
}
