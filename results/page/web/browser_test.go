package web

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"halflight/results/picture"
)

var shots = flag.String("shots", "", "put pictures of the page into this folder, to be looked at")

// tab is a page open in a browser, with all that it asked for and complained of.
type tab struct {
	context.Context
	t                 testing.TB
	mu                sync.Mutex
	asked, complaints []string
	address           string
	size              int
}

// browser says where a browser is; without one the test is skipped.
func browser(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("needs a browser: install Debian's chromium (apt-get install chromium)")
	return ""
}

// start makes the page of some results and starts a browser, which has not opened
// it yet.
func start(t testing.TB, list ...*picture.Result) *tab {
	t.Helper()
	path := browser(t)
	text, err := Page(list)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	outer, end := context.WithTimeout(context.Background(), 120*time.Second)
	t.Cleanup(end)
	allocated, stop := chromedp.NewExecAllocator(outer, chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.UserDataDir(t.TempDir()), chromedp.WindowSize(1200, 900))
	t.Cleanup(stop)
	ctx, stop2 := chromedp.NewContext(allocated)
	t.Cleanup(stop2)
	b := &tab{Context: ctx, t: t, address: "file://" + file, size: len(text)}
	b.do()
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	ask(b, network.Enable, network.EnableParams{})
	ask(b, log.Enable, cdp.Empty{})
	b.wide(1200)
	b.media("", "light")
	return b
}

// open is start, and then the page.
func open(t testing.TB, list ...*picture.Result) *tab {
	t.Helper()
	b := start(t, list...)
	b.load()
	return b
}

func (b *tab) load() {
	b.do(chromedp.Navigate(b.address), chromedp.WaitVisible(chromedp.CSS("#faults-table")))
}

// hear notes what the page asks for, and what it or the browser complains of.
func (b *tab) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *network.EventRequestWillBeSent:
		b.asked = append(b.asked, e.Request.URL)
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, e.Entry.Text)
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprint(e.Type))
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints, e.ExceptionDetails.Text)
	}
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// ask sends a command of the browser's protocol.
func ask[P, R any](b *tab, command cdp.Command[P, R], p P) R {
	b.t.Helper()
	r, err := chromedp.Call(b, command, p)
	if err != nil {
		b.t.Fatal(err)
	}
	return r
}

// see evaluates an expression in the page.
func see[T any](b *tab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// media sets paper or screen, and light or dark.
func (b *tab) media(kind, scheme string) {
	ask(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind,
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
}

func (b *tab) wide(width int64) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(width, 900))
}

// shoot puts a picture of the whole page into the folder of the flag.
func (b *tab) shoot(name string) {
	if *shots == "" {
		return
	}
	png, err := chromedp.Run(b, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o600)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// The page asks for nothing but itself, and nothing in it is refused or fails:
// in light, in dark, narrow and on paper, and while it is used.
func TestAsksForNothing(t *testing.T) {
	t.Parallel()
	b := open(t, sample("harbour-7", 7, 400), sample("quay-7", 8, 300))
	see[int](b, `{for (const d of document.querySelectorAll("details")) d.open = true}; 1`)
	b.shoot("two")
	b.media("", "dark")
	b.shoot("two-dark")
	b.wide(390)
	b.shoot("two-narrow")
	b.do(chromedp.Click(chromedp.CSS("#faults-table th button")), chromedp.SendKeys(chromedp.CSS("#filter-words"), "optic"),
		chromedp.Click(chromedp.CSS("#pager-on")), chromedp.Click(chromedp.CSS(".controls button")))
	b.media("print", "light")
	b.shoot("two-print")
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.asked) != 1 || b.asked[0] != b.address {
		t.Errorf("the page asks for %q, want itself alone", b.asked)
	}
	if len(b.complaints) > 0 {
		t.Errorf("the browser complains: %q", b.complaints)
	}
}

// A page of ten thousand faults and of more has a bound.
func TestSizeOfAPage(t *testing.T) {
	for _, faults := range []int{10000, 30000} {
		text, err := Page([]*picture.Result{sample("harbour-7", 7, faults)})
		if err != nil {
			t.Fatal(err)
		}
		const most = 1_500_000
		if len(text) > most {
			t.Errorf("%d faults: %d bytes, more than %d", faults, len(text), most)
		}
		if strings.Contains(string(text), "http:") || strings.Contains(strings.ReplaceAll(string(text), "https://github.com/leeoniya/uPlot", ""), "https:") {
			t.Error("the page holds an address")
		}
	}
}

// Nothing is wider than a narrow screen, in light or dark; tables and pictures
// that must be scroll on their own.
func TestFitsNarrowScreens(t *testing.T) {
	t.Parallel()
	b := start(t, sample("harbour-7", 7, 300))
	for _, width := range []int64{320, 390, 768, 1200} {
		b.wide(width)
		b.load()
		if got := see[int64](b, `document.documentElement.scrollWidth`); got > width {
			t.Errorf("%d wide: the page needs %d", width, got)
		}
		if width == 390 {
			b.shoot("one-narrow")
		}
	}
	b.shoot("one-light")
	b.media("", "dark")
	b.shoot("one-dark")
	b.media("print", "dark")
	b.wide(794) // A4 at 96 dots an inch
	b.shoot("one-print")
	if got := see[string](b, `getComputedStyle(document.documentElement).backgroundColor`); got != "rgb(255, 255, 255)" {
		t.Errorf("paper is %s", got)
	}
	if see[bool](b, `[...document.querySelectorAll(".live, .controls, nav, #filter")].some(e => e.getClientRects().length > 0)`) {
		t.Error("what only a screen can do is printed")
	}
	if n := see[int](b, `[...document.querySelectorAll("svg.chart")].filter(e => e.getClientRects().length > 0).length`); n < 3 {
		t.Errorf("%d charts are printed", n)
	}
}

// Sorting and filtering, against the faults themselves.
func TestSortAndFilter(t *testing.T) {
	t.Parallel()
	r := sample("harbour-7", 7, 500)
	b := open(t, r)
	faults := faultsOf([]*picture.Result{r})
	column := func(c int) string {
		return fmt.Sprintf(`[...document.querySelectorAll("#faults-table tbody tr")].map(r => r.children[%d].textContent)`, c)
	}
	if got := see[string](b, `document.getElementById("faults-count").textContent`); got != "1 to 25 of 500 faults" {
		t.Errorf("count %q", got)
	}
	want := faults.firstRows(25)
	if got := see[[]string](b, column(11)); got[0] != want[0][12] || got[24] != want[24][12] {
		t.Errorf("lost: %v, want from %s to %s", got, want[0][12], want[24][12])
	}
	// By convergence, longest first: those without come last.
	b.do(chromedp.Click(chromedp.CSS(`#faults-table th[data-column="8"] button`)))
	if got := see[string](b, `document.querySelector('#faults-table th[data-column="8"]').getAttribute("aria-sort")`); got != "descending" {
		t.Errorf("aria-sort %q", got)
	}
	if got, want := see[[]string](b, column(7)), faults.sorted(8, -1, func([]any) bool { return true }); !slices.Equal(got, want[:25]) {
		t.Errorf("converged: %v, want %v", got, want[:25])
	}
	b.do(chromedp.Click(chromedp.CSS(`#faults-table th[data-column="8"] button`)))
	if got, want := see[[]string](b, column(7)), faults.sorted(8, 1, func([]any) bool { return true }); !slices.Equal(got, want[:25]) {
		t.Errorf("converged, shortest first: %v, want %v", got, want[:25])
	}
	// Words, kind, gray and sighted together.
	b.do(chromedp.SendKeys(chromedp.CSS("#filter-words"), "DIRTY"))
	dirty := faults.sorted(8, 1, func(row []any) bool { return row[3] == 1 })
	if got, want := see[string](b, `document.getElementById("faults-count").textContent`), fmt.Sprintf("1 to 25 of %d faults", len(dirty)); got != want {
		t.Errorf("count %q, want %q", got, want)
	}
	see[int](b, `{const e = document.getElementById("filter-seen"); e.value = "no"; e.dispatchEvent(new Event("input")); 1}`)
	never := faults.sorted(8, 1, func(row []any) bool { return row[3] == 1 && row[9] == nil })
	if got, want := see[string](b, `document.getElementById("faults-count").textContent`), fmt.Sprintf("of %d faults", len(never)); !strings.HasSuffix(got, want) {
		t.Errorf("count %q, want %q", got, want)
	}
	b.do(chromedp.Click(chromedp.CSS("#filter-gray")), chromedp.SendKeys(chromedp.CSS("#filter-words"), " no such thing"))
	if got := see[string](b, `document.getElementById("faults-count").textContent`); got != "No fault passes the filter." {
		t.Errorf("count %q", got)
	}
}

// sorted is a column's words of the rows that pass, by their values.
func (d *faultData) sorted(c, sign int, pass func(row []any) bool) (out []string) {
	var rows [][]any
	for _, row := range d.Rows {
		if pass(row) {
			rows = append(rows, row)
		}
	}
	slices.SortStableFunc(rows, func(a, b []any) int {
		x, okX := a[c].(float64)
		y, okY := b[c].(float64)
		switch {
		case okX != okY:
			if okX {
				return -1
			}
			return 1
		case x < y:
			return -sign
		case x > y:
			return sign
		}
		return 0
	})
	for _, row := range rows {
		out = append(out, d.cell(c, row[c]))
	}
	return out
}

// The tab key reaches everything that can be used, in the order of the page, and
// Enter does what a click does.
func TestKeyboardReachesEverything(t *testing.T) {
	t.Parallel()
	b := open(t, sample("harbour-7", 7, 200))
	see[int](b, `{for (const d of document.querySelectorAll("details")) d.open = true}; 1`)
	see[int](b, `window.usable = [...document.querySelectorAll("a[href], button:not(:disabled), input, select, summary, [tabindex='0']")].filter(e => e.getClientRects().length > 0); 1`)
	n := see[int](b, `usable.length`)
	if n < 40 {
		t.Fatalf("only %d things can be used", n)
	}
	see[int](b, `window.reached = []; document.addEventListener("focusin", e => reached.push(e.target)); 1`)
	b.do(chromedp.KeyEvent(strings.Repeat("\t", n+2)))
	if missed := see[[]string](b, `usable.filter(e => !reached.includes(e)).map(e => e.outerHTML.slice(0, 90))`); len(missed) > 0 {
		t.Errorf("the tab key misses %d of %d: %q", len(missed), n, missed)
	}
	if !see[bool](b, `reached.slice(1).every((e, i) => reached[i].compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING || usable.indexOf(e) === 0)`) {
		t.Error("the tab key goes back and forth")
	}
	see[int](b, `document.querySelector('#faults-table th[data-column="4"] button').focus(); 1`)
	b.do(chromedp.KeyEvent("\r"))
	if got := see[string](b, `document.querySelector('#faults-table th[data-column="4"]').getAttribute("aria-sort")`); got != "ascending" {
		t.Errorf("Enter on a head sorts %q", got)
	}
	// A chart is read off by its slider.
	before := see[string](b, `document.querySelector("figure output").textContent`)
	see[int](b, `document.querySelector("input[type=range]").focus(); 1`)
	b.do(chromedp.KeyEvent(strings.Repeat("\u0303", 40))) // arrow right
	after := see[string](b, `document.querySelector("figure output").textContent`)
	if before != "" || after == "" {
		t.Errorf("read off: %q, then %q", before, after)
	}
}

// Without scripts there are the pictures, the worst faults, and no control that
// does nothing.
func TestWithoutScripts(t *testing.T) {
	t.Parallel()
	r := sample("harbour-7", 7, 200)
	b := start(t, r)
	ask(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.load()
	if n := see[int](b, `[...document.querySelectorAll("svg.chart, svg.grid")].filter(e => e.getClientRects().length > 0).length`); n < 6 {
		t.Errorf("%d pictures", n)
	}
	if n := see[int](b, `document.querySelectorAll("#faults-table tbody tr").length`); n != 25 {
		t.Errorf("%d faults, want 25", n)
	}
	if see[bool](b, `[...document.querySelectorAll("button, input, select")].some(e => e.getClientRects().length > 0)`) {
		t.Error("there are controls that do nothing")
	}
}

// axe-core 4 (npm, MPL-2.0) finds nothing against WCAG 2.2 A and AA or its best
// practices: wide and narrow, in light and in dark, with everything unfolded.
func TestAccessibility(t *testing.T) {
	t.Parallel()
	source, err := os.ReadFile("../../../.ci/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Skip("needs axe-core: npm ci --prefix .ci")
	}
	b := open(t, sample("harbour-7", 7, 200), sample("quay-7", 8, 200))
	for _, c := range []struct {
		width  int64
		scheme string
	}{{1200, "light"}, {390, "dark"}} {
		b.wide(c.width)
		b.media("", c.scheme)
		see[int](b, `{for (const d of document.querySelectorAll("details")) d.open = true}; 1`)
		see[int](b, string(source)+"; 1")
		answer := see[string](b, `axe.run().then(r => JSON.stringify({passes: r.passes.length, violations: r.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 3).map(n => n.html.slice(0, 150) + " " + n.failureSummary)}))}))`)
		var found struct {
			Passes     int
			Violations []struct {
				ID, Help string
				Nodes    []string
			}
		}
		if err := json.Unmarshal([]byte(answer), &found); err != nil {
			t.Fatal(err)
		}
		if found.Passes < 20 {
			t.Errorf("only %d rules passed: did it run?", found.Passes)
		}
		for _, v := range found.Violations {
			t.Errorf("%d wide, %s: %s (%s): %s", c.width, c.scheme, v.ID, v.Help, strings.Join(v.Nodes, "\n  "))
		}
	}
}

// Ten thousand faults, from opening the file to the list that can be used. CI
// holds ms at 2000.
func BenchmarkOpen(b *testing.B) {
	p := start(b, sample("harbour-7", 7, 10000))
	total := 0.0
	for b.Loop() {
		p.load()
		total += see[float64](p, `performance.timing.loadEventEnd - performance.timing.navigationStart`)
	}
	b.ReportMetric(total/float64(b.N), "ms")
	b.ReportMetric(float64(p.size), "bytes")
}
