package insulation

import "fmt"

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

// GroupOfCTIConfidence is the mark of the limits that GroupOfCTI uses: 600 and
// 400 were seen in component data sheets, 175 and 100 are from memory. Combine
// it with the mark of a distance that rests on such a group.
const GroupOfCTIConfidence Confidence = 'C'

// GroupOfCTI returns the material group of a surface with comparative tracking
// index cti (IEC 60112, a voltage written as a pure number):
//
//	I     600 <= CTI
//	II    400 <= CTI < 600
//	IIIa  175 <= CTI < 400
//	IIIb  100 <= CTI < 175
//
// Below 100, and where cti is not a finite number, it returns an error.
//
// Source: IEC 60664-1:2007 (ed. 2) clause 4.8.1.3.
func GroupOfCTI(cti float64) (Group, error) {
	switch {
	case !positive(cti) || cti < 100:
		return 0, fmt.Errorf("comparative tracking index %s has no material group (100 and above)", text(cti))
	case cti < 175:
		return GroupIIIb, nil
	case cti < 400:
		return GroupIIIa, nil
	case cti < 600:
		return GroupII, nil
	}
	return GroupI, nil
}
