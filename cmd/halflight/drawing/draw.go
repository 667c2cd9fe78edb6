package drawing

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"halflight/cmd/halflight/store"
	"halflight/results/page/plot"
	"halflight/results/page/web"
	"halflight/results/picture"
)

// Drawn is what is to be drawn, and where to.
type Drawn struct {
	Results []*picture.Result // one or two
	Page    string            // the file
	Plots   string            // the folder; empty: none
}

// Open reads the folders, with the answers in others for the first of them, and says where the page goes unless out does.
func Open(folders, with []string, load Load, out, plots string) (*Drawn, error) {
	d := &Drawn{Page: out, Plots: plots}
	for _, folder := range folders {
		one, err := Read(folder, load, with...)
		if err != nil {
			return nil, err
		}
		d.Results = append(d.Results, one)
		with = nil // they are about the first
	}
	if len(folders) == 2 && d.Results[0].Name == d.Results[1].Name {
		d.Results[0].Name, d.Results[1].Name = filepath.Clean(folders[0]), filepath.Clean(folders[1])
	}
	if out == "" {
		d.Page = filepath.Join(folders[0], store.PageName)
		if len(folders) == 2 {
			d.Page = filepath.Base(d.Results[0].Name) + "-" + filepath.Base(d.Results[1].Name) + ".html"
		}
	}
	return d, nil
}

// Write draws, and tells in text where the page is and what it could not show.
func (d *Drawn) Write(told io.Writer) error {
	text, err := web.Page(d.Results)
	if err != nil {
		return err
	}
	if err := store.WriteFile(d.Page, text); err != nil {
		return err
	}
	if d.Plots != "" {
		if err := d.plots(); err != nil {
			return err
		}
	}
	var names []string
	for _, r := range d.Results {
		names = append(names, r.Name)
	}
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: %s, %.1f MB\n", d.Page, strings.Join(names, " against "), float64(len(text))/1e6)
	for _, s := range picture.Sections(d.Results) {
		for _, row := range s.Pictures {
			for _, p := range row {
				if !p.There() {
					fmt.Fprintf(b, "left out: %s (%s)\n  %s\n", p.Title, p.Without, p.Command)
				}
			}
		}
	}
	_, err = io.WriteString(told, b.String())
	return err
}

// plots writes every picture that is there, as SVG and as PNG.
func (d *Drawn) plots() error {
	files, err := plot.Files(picture.All(d.Results))
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := store.WriteFile(filepath.Join(d.Plots, f.Name), f.Data); err != nil {
			return err
		}
	}
	return nil
}
