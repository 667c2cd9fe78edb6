package scenarios

import "embed"

//go:embed library/*.yaml
var library embed.FS

// shipped are the scenarios that come with the program, the default first.
var shipped = []string{"tidewater", "orchard", "glacier", "storm", "lull", "ferry", "gangway", "commons", "hedgerow", "lane", "avenue", "parcel", "letter",
	"skiff", "ketch", "catamaran", "dinghy", "kiln", "kiln-kept", "foundry", "foundry-six", "mill", "mill-roles"}

// Default is the name of the scenario that is run when none is named.
func Default() string { return shipped[0] }

// Shipped returns the names of the scenarios that come with the program, the default first.
func Shipped() []string { return append([]string(nil), shipped...) }

// Source returns the text of a shipped scenario; it is not ok when there is none of that name.
func Source(name string) (data []byte, ok bool) {
	data, err := library.ReadFile("library/" + name + ".yaml")
	return data, err == nil
}
