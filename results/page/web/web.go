package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"strings"

	"halflight/results/credibility"
	"halflight/results/page"
	"halflight/results/picture"
)

//go:embed asset
var assets embed.FS

func asset(name string) string {
	text, err := assets.ReadFile("asset/" + name)
	if err != nil {
		panic("web: " + err.Error())
	}
	return string(text)
}

// rowsShown is how many faults are shown at a time.
const rowsShown = 25

// pageData is what the template is filled with.
type pageData struct {
	Title    string
	Policy   string
	Style    template.HTML
	Data     template.HTML
	Scripts  template.HTML
	Licence  string
	Results  []resultData
	Two      bool
	Sections []section
	Missing  []missing
	Faults   *faultData
	Columns  []faultColumn
	First    [][]string
	Kinds    []string
	Options  picture.Table
	Limits   []string
	Cautions []string
}

type resultData struct {
	*picture.Result
	Head, Words []string
	Headlines   []picture.Headline
	Stories     []storyData
	Unsourced   picture.Table
	Defaults    picture.Table
	Given       picture.Table
	Credibility []credibility.Factor
	Figures     picture.Table
	Doubts      []string
}

type storyData struct {
	picture.Story
	Drawing template.HTML
	Keys    []key
}

type section struct {
	ID, Title, About string
	Pictures         [][]shown // side by side where there are two
}

type shown struct {
	*picture.Picture
	Of       string // the result, where there are two
	Key      string // id on the page
	Drawing  template.HTML
	Grids    []template.HTML
	Keys     []key
	Steps    []key
	Bars     []barRow
	HasChart bool
}

type missing struct{ Title, Of, Why, Command string }

// Page makes the page of one result, or of two side by side.
func Page(list []*picture.Result) ([]byte, error) {
	d := &pageData{Two: len(list) > 1, Licence: asset("uPlot.LICENSE"), Limits: credibility.Limits(), Cautions: page.Cautions(), Columns: faultColumns,
		Options: picture.Options(list)}
	names := make([]string, len(list))
	for i, r := range list {
		names[i] = r.Name
		d.Results = append(d.Results, resultOf(r))
	}
	d.Title = strings.Join(names, " against ")
	charts := map[string]*chartData{}
	d.sections(list, charts)
	d.Faults = faultsOf(list)
	d.First = d.Faults.firstRows(rowsShown)
	seen := map[string]bool{}
	for _, k := range d.Faults.Kinds {
		if !seen[k] {
			seen[k] = true
			d.Kinds = append(d.Kinds, k)
		}
	}
	if err := d.parts(charts); err != nil {
		return nil, err
	}
	t, err := template.New("page").Funcs(template.FuncMap{"figure": isFigure, "dots": dots}).Parse(asset("page.html"))
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := t.Execute(&out, d); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// isFigure reports whether a column of a table, from 0, is of figures.
func isFigure(column, left int) bool { return column >= left }

// dots lets a key be broken after its dots.
func dots(text string) template.HTML {
	return template.HTML(strings.ReplaceAll(esc(text), ".", ".<wbr>"))
}

// parts fills in style, data and scripts, and a policy that lets nothing else in.
func (d *pageData) parts(charts map[string]*chartData) error {
	var data bytes.Buffer
	e := json.NewEncoder(&data) // escapes < > &, so that the data cannot leave their element
	if err := e.Encode(map[string]any{"charts": charts, "faults": d.Faults, "columns": d.Columns, "shown": rowsShown, "backgrounds": backgrounds}); err != nil {
		return fmt.Errorf("the data of the page: %w", err)
	}
	style := asset("uPlot.min.css") + asset("page.css")
	chart, script := asset("uPlot.iife.min.js"), asset("page.js")
	d.Style = template.HTML("<style>" + style + "</style>")
	d.Data = template.HTML(`<script type="application/json" id="data">` + data.String() + "</script>")
	d.Scripts = template.HTML("<script>" + chart + "</script><script>" + script + "</script>")
	d.Policy = fmt.Sprintf("default-src 'none'; style-src %s; script-src %s %s; base-uri 'none'; form-action 'none'", hash(style), hash(chart), hash(script))
	return nil
}

func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

func resultOf(r *picture.Result) resultData {
	d := resultData{Result: r, Words: r.Summary.Sentences, Headlines: picture.Headlines(r), Credibility: r.Credibility(),
		Figures: picture.Figures(r), Doubts: picture.Doubts(r), Head: page.Head(r.Summary)}
	for _, s := range picture.Stories(r) {
		one := storyData{Story: s, Drawing: timeline(s.Phases)}
		for i, p := range s.Phases {
			sample := fmt.Sprintf(`<svg class="sample" viewBox="0 0 34 12" aria-hidden="true"><rect class="p%d" x="6" y="0" width="22" height="12"/></svg>`, i%phaseColours)
			one.Keys = append(one.Keys, key{template.HTML(sample), p.Name + " " + p.Text, -1})
		}
		d.Stories = append(d.Stories, one)
	}
	d.assumptions()
	return d
}

// assumptions sorts the settings: unsourced first, then defaults, then what the
// scenario says.
func (d *resultData) assumptions() {
	head := []string{"setting", "value", "grade", "range", "source"}
	for _, t := range []*picture.Table{&d.Unsourced, &d.Defaults, &d.Given} {
		t.Head, t.Left = head, len(head)
	}
	for _, a := range d.Assumptions {
		row := []string{a.Key, a.Value, a.Grade, a.Range, a.Source}
		switch {
		case a.Unsourced:
			d.Unsourced.Rows = append(d.Unsourced.Rows, row)
		case a.Given:
			d.Given.Rows = append(d.Given.Rows, row)
		default:
			d.Defaults.Rows = append(d.Defaults.Rows, row)
		}
	}
}

// sections puts the pictures in the order of reading, and aside those that are
// not there.
func (d *pageData) sections(list []*picture.Result, charts map[string]*chartData) {
	for _, s := range picture.Sections(list) {
		out := section{ID: s.ID, Title: s.Title, About: s.About}
		for _, row := range s.Pictures {
			var there []shown
			for i := range row {
				p := &row[i]
				of := ""
				if len(row) > 1 {
					of = list[i].Name
				}
				if p.Command != "" && !p.There() {
					d.Missing = append(d.Missing, missing{p.Title, of, p.Without, p.Command})
				}
				if p.There() {
					there = append(there, d.shown(p, of, i, charts))
				}
			}
			if len(there) > 0 {
				out.Pictures = append(out.Pictures, there)
			}
		}
		if len(out.Pictures) > 0 {
			d.Sections = append(d.Sections, out)
		}
	}
}

func (d *pageData) shown(p *picture.Picture, of string, i int, charts map[string]*chartData) shown {
	s := shown{Picture: p, Of: of, Key: p.ID, Keys: keys(p)}
	if i > 0 {
		s.Key += "-2"
	}
	switch {
	case len(p.Bars) > 0:
		s.Bars = barRows(p)
	case len(p.Grids) > 0:
		s.Grids, s.Steps = grids(p)
	default:
		s.Drawing = lines(p)
		if c := chartOf(p); c != nil {
			charts[s.Key], s.HasChart = c, true
		}
	}
	return s
}
