package finding

// Whole is what a pure number may be a share of.
type Whole uint8

// The wholes. Those that are currents give the number a meaning in amperes of the
// channel; AnotherQuantity has none. The zero value says nothing.
const (
	OwnCurrent  Whole = iota + 1 // the largest own current of the duty, else the full scale
	FullScale                    // the largest own current of continuous and peak duties
	LinearRange                  // the own current that fills the linear range
	AnotherQuantity
)

// Share says what a pure number is a share of.
type Share struct {
	Whole Whole
	Words string // "of saturation"; empty: those of Whole
}

// String returns the words that stand behind a number in per cent; empty where nothing is
// said.
func (s Share) String() string {
	if s.Words != "" {
		return s.Words
	}
	switch s.Whole {
	case OwnCurrent:
		return "of the own current"
	case FullScale:
		return "of full scale"
	case LinearRange:
		return "of the linear range"
	}
	return ""
}
