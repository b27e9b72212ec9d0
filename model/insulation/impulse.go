package insulation

import "fmt"

// ImpulseV returns the rated impulse voltage in volts (peak, 1.2/50 µs) of
// equipment on a supply with lineToNeutralV volts (rms, or direct when dc is
// true) from line to neutral, in overvoltage category 1 to 4. There is no
// interpolation: the next higher row counts.
//
// Enter unearthed (IT) and corner-earthed systems with the voltage from line to
// line (annex B of the standard; mark C, from memory).
//
// Outside 0 to 1000 V rms (1500 V direct) and categories 1 to 4 it returns an
// error that names the range.
//
// Source: IEC 60664-1:2007 and :2020, Table F.1.
func ImpulseV(lineToNeutralV float64, category int, dc bool) (volts float64, conf Confidence, err error) {
	if category < 1 || category > 4 {
		return 0, 0, fmt.Errorf("overvoltage category %d is outside the table (1 to 4)", category)
	}
	if positive(lineToNeutralV) {
		for _, r := range impulseRows {
			if r.dcOnly && !dc {
				continue
			}
			if lineToNeutralV <= r.lineToNeutralV || same(lineToNeutralV, r.lineToNeutralV) {
				return r.categoryV[category-1], r.confidence, nil
			}
		}
	}
	kind, top := "rms", 1000
	if dc {
		kind, top = "direct", 1500
	}
	return 0, 0, fmt.Errorf("line to neutral %s V %s is outside the impulse table (above 0 to %d V)", text(lineToNeutralV), kind, top)
}

// SupplyClearance returns the clearance of insulation between parts that see
// the impulses of the supply: ImpulseV followed by Clearance, with the marks of
// both. Its first step names the supply.
func SupplyClearance(lineToNeutralV float64, category int, dc bool, pollutionDegree int, kind Kind, altitudeM float64) (Need, error) {
	volts, mark, err := ImpulseV(lineToNeutralV, category, dc)
	if err != nil {
		return Need{}, err
	}
	n, err := Clearance(volts, pollutionDegree, kind, altitudeM)
	if err != nil {
		return Need{}, err
	}
	supply := "V line to neutral"
	if dc {
		supply = "V direct, line to neutral"
	}
	roman := [...]string{"I", "II", "III", "IV"}
	first := fmt.Sprintf("impulse %s (%s %s, category %s)", kilovolts(volts), text(lineToNeutralV), supply, roman[category-1])
	n.Steps = append([]string{first}, n.Steps...)
	n.Confidence = Worst(n.Confidence, mark)
	return n, nil
}
