package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/results/page/plot"
	"halflight/results/page/web"
	"halflight/results/picture"
)

// reporting is what the flags of report say.
type reporting struct {
	out, plots string
}

// reportVerb draws results.
func (d *door) reportVerb() *cobra.Command {
	var r reporting
	c := &cobra.Command{
		Use:   "report RESULT [RESULT]",
		Short: "a page with pictures of one result, or of two side by side",
		Long: `Draws the result in a folder that run left behind: one HTML page that needs
nothing else, to be opened from where it lies, printed or sent on. It says in
words what to conclude, and shows why: convergence in quiet and in noise, the
backlog of gray faults, where loss arose, every fault, the stories of the worst,
the assumptions, and how to make it again. Pictures whose data are not in the
folder are left out; the page names the command that makes them.

The page is RESULT/report.html, or ./FIRST-SECOND.html for two, unless --out
says otherwise. --plots writes the pictures for memos too, as SVG and PNG.`,
		Example: `halflight run lull --replications 2 --horizon 2h --set warm_up=1h --out quiet
halflight run storm --replications 2 --horizon 2h --set warm_up=1h --out noisy
halflight report quiet
halflight report quiet noisy --out both.html --plots pictures`,
		Args: exactly(1, 2, "one result, or two"),
	}
	f := c.Flags()
	f.StringVar(&r.out, "out", "", "the `FILE` for the page")
	f.StringVar(&r.plots, "plots", "", "write the pictures as SVG and PNG into a `FOLDER`")
	c.RunE = func(c *cobra.Command, args []string) error {
		for _, name := range []string{"out", "plots"} {
			if c.Flags().Changed(name) && c.Flags().Lookup(name).Value.String() == "" {
				return status.CommandLine("--%s needs a name", name)
			}
		}
		return d.report(args, &r)
	}
	return c
}

func (d *door) report(folders []string, r *reporting) error {
	var list []*picture.Result
	for _, folder := range folders {
		one, err := d.result(folder)
		if err != nil {
			return err
		}
		list = append(list, one)
	}
	if len(list) == 2 && list[0].Name == list[1].Name {
		list[0].Name, list[1].Name = filepath.Clean(folders[0]), filepath.Clean(folders[1])
	}
	text, err := web.Page(list)
	if err != nil {
		return err
	}
	out := r.out
	switch {
	case out == "" && len(list) == 1:
		out = filepath.Join(folders[0], store.PageName)
	case out == "":
		out = list[0].Name + "-" + list[1].Name + ".html"
	}
	if err := store.WriteFile(out, text); err != nil {
		return err
	}
	if r.plots != "" {
		if err := d.plots(list, r.plots); err != nil {
			return err
		}
	}
	return d.reported(list, out, len(text))
}

// reported says where the page is, and what it could not show.
func (d *door) reported(list []*picture.Result, out string, size int) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s: %s, %.1f MB\n", out, strings.Join(namesOf(list), " against "), float64(size)/1e6)
	for _, s := range picture.Sections(list) {
		for _, row := range s.Pictures {
			for _, p := range row {
				if !p.There() {
					fmt.Fprintf(&b, "left out: %s (%s)\n  %s\n", p.Title, p.Without, p.Command)
				}
			}
		}
	}
	_, err := d.out.Write(b.Bytes())
	return err
}

func namesOf(list []*picture.Result) []string {
	out := make([]string, len(list))
	for i, r := range list {
		out[i] = r.Name
	}
	return out
}

// isFolder reports whether a path is a folder, with an error that says what to
// do where it is not.
func isFolder(path string) error {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return status.Data("there is no folder %q; halflight run makes one, and says where", path)
	case err != nil:
		return status.IO(path, err)
	case !info.IsDir():
		return status.Data("%s is a file; a result is the folder that halflight run leaves behind", path)
	}
	return nil
}

// plots writes every picture that is there into a folder, as SVG and as PNG.
func (d *door) plots(list []*picture.Result, folder string) error {
	files, err := plot.Files(picture.All(list))
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := store.WriteFile(filepath.Join(folder, f.Name), f.Data); err != nil {
			return err
		}
	}
	return nil
}
