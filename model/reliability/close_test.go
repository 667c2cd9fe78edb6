package reliability

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// within fails unless got is want to the relative tolerance; a want of 0 is held to 1e-12.
func within(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if got == want {
		return
	}
	limit := rel * math.Abs(want)
	if want == 0 {
		limit = 1e-12
	}
	if !(math.Abs(got-want) <= limit) {
		t.Errorf("%s: got %.15g, want %.15g, relative error %.2e", what, got, want, math.Abs(got-want)/math.Abs(want))
	}
}

// printed fails unless got agrees with a figure printed to so many significant digits, beyond its rounding to rel.
func printed(t *testing.T, what string, got, want float64, digits int, rel float64) {
	t.Helper()
	within(t, what, got, want, rel+0.5*math.Pow10(1-digits))
}

// lastDigit fails unless got is within one in the last digit of the printed figure.
func lastDigit(t *testing.T, what string, got float64, want string) {
	t.Helper()
	v := number(t, want)
	unit := 1.0
	if dot := strings.IndexByte(want, '.'); dot >= 0 {
		unit = math.Pow10(-(len(want) - dot - 1))
	}
	if math.Abs(got-v) > unit*1.0000001 {
		t.Errorf("%s: got %.10g, printed %s", what, got, want)
	}
}

// number reads a figure or a fraction.
func number(t *testing.T, s string) float64 {
	t.Helper()
	top, bottom, fraction := strings.Cut(s, "/")
	v, err := strconv.ParseFloat(top, 64)
	if err != nil {
		t.Fatal(err)
	}
	if fraction {
		v /= number(t, bottom)
	}
	return v
}

// table reads the rows of a file of testdata; lines that begin with # are its source and columns.
func table(t *testing.T, name string, rowsWanted int) [][]string {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for line := range strings.Lines(string(text)) {
		if !strings.HasPrefix(line, "#") {
			rows = append(rows, strings.Fields(line))
		}
	}
	if len(rows) != rowsWanted {
		t.Fatalf("%s has %d rows, want %d", name, len(rows), rowsWanted)
	}
	return rows
}

func numbers(t *testing.T, row []string) []float64 {
	t.Helper()
	v := make([]float64, len(row))
	for i, s := range row {
		v[i] = number(t, s)
	}
	return v
}
