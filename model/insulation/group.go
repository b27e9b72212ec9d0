package insulation

// Group is the material group of an insulating surface, by its comparative
// tracking index.
type Group uint8

// The material groups of IEC 60664-1, the best first. The zero value is none of
// them and is refused.
const (
	GroupI Group = iota + 1
	GroupII
	GroupIIIa
	GroupIIIb
)

var groupNames = [...]string{GroupI: "I", GroupII: "II", GroupIIIa: "IIIa", GroupIIIb: "IIIb"}

// String returns the name of g that a layout file uses.
func (g Group) String() string {
	if !g.valid() {
		return "no group"
	}
	return groupNames[g]
}

func (g Group) valid() bool { return g >= GroupI && g <= GroupIIIb }

// GroupByName returns the group whose String is name.
func GroupByName(name string) (Group, bool) {
	for g := GroupI; g <= GroupIIIb; g++ {
		if groupNames[g] == name {
			return g, true
		}
	}
	return 0, false
}
