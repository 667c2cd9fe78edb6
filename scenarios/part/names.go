// Package part is the names of routers, links, directions and groups: it reads them and holds them against the numbers of a
// folded Clos.
//
// It knows no graph and no order but that of numbers. It is tested by names in every form and through the broken scenarios of
// scenarios.
package part

// Part names a router, a link, one direction of a link, a group, or a link between a leaf and servers.
type Part struct {
	Text     string // as typed
	Class    Class
	A, B     Router // router: A; link: A is the lower end; direction: from A to B
	Parallel int    // index among parallel links
	Group    string
	Servers  Servers // access link: the far end of A
}

// Servers names a group of servers: the pod and the number of its first leaf, and its number there.
type Servers struct{ First, Second, Number int }

// Router is a router by its class and two numbers: pod and number for leaves and spines, plane and number for tops.
type Router struct {
	Tier          Tier
	First, Second int
}

// Numbers are the resolved numbers of a folded Clos: Tops is per plane, Parallel per leaf-spine pair; Tops 0 is 3-stage.
type Numbers struct{ Pods, Leaves, Spines, Tops, Parallel int }

// Routers returns the number of routers.
func (n Numbers) Routers() int { return n.Pods*(n.Leaves+n.Spines) + n.Spines*n.Tops }

// Links returns the number of links.
func (n Numbers) Links() int { return n.Pods*n.Leaves*n.Spines*n.Parallel + n.Pods*n.Spines*n.Tops }

// Class tells what a Part is.
type Class uint8

// The classes of part.
const (
	RouterPart Class = iota
	LinkPart
	DirectionPart
	GroupPart
	AccessPart // a link between a leaf and a group of servers
)

// Tier is a class of router.
type Tier uint8

// The tiers, in the order of routers.
const (
	Leaf Tier = iota
	Spine
	Top
)

// The words for classes and tiers, in the order of their constants.
var (
	partNames   = [...]string{"a router", "a link", "one direction", "a group", "an access link"}
	tierNames   = [...]string{"leaf", "spine", "top"}
	tierPlurals = [...]string{"leaves", "spines", "tops"}
)

// String returns the class of part with its article.
func (c Class) String() string { return partNames[c] }

// String returns the word for the tier.
func (t Tier) String() string { return tierNames[t] }
