package insulation

import "fmt"

// Creepage returns the least distance along the surface of insulation, in
// metres, against tracking at the working voltage rmsV (volts rms, or direct),
// in pollution degree 1 to 3 on a material of the given group.
//
//	functional, basic, supplementary  table value
//	reinforced                        twice the table value
//
// Between rows the distance is linear in voltage and not rounded; up to 10 V
// the first row holds. Altitude plays no part. A creepage distance is never
// less than the clearance: see CreepageNotBelow.
//
// printedBoard asks for the milder columns of printed boards. They exist in
// degree 1 and, for groups I to IIIa, in degree 2, both up to 1000 V rms.
// Elsewhere a board takes the general columns of its degree and group, which
// are never smaller; a step says so and the mark is C.
//
// Outside the table (up to 5000 V), and for group IIIb above 630 V in degree 3,
// where that material is not recommended and has no value, it returns an error.
//
// Source: IEC 60664-1:2007 (ed. 2) Table F.4, :2020 (ed. 3) Table F.5 (number
// from memory); clause 5.2.5 (ed. 3: 5.3.5, from memory) for reinforced.
func Creepage(rmsV float64, pollutionDegree int, group Group, kind Kind, printedBoard bool) (Need, error) {
	if err := checkDegree(pollutionDegree); err != nil {
		return Need{}, err
	}
	if !kind.valid() {
		return Need{}, fmt.Errorf("kind of insulation is not set")
	}
	if !group.valid() {
		return Need{}, fmt.Errorf("material group is not set")
	}
	row := func(i int) float64 { return creepageRows[i].voltV }
	p, ok := locate(len(creepageRows), row, rmsV)
	if !ok || !positive(rmsV) {
		return Need{}, fmt.Errorf("working voltage %s V is outside the creepage table (above 0 to %s V rms)", text(rmsV), text(row(len(creepageRows)-1)))
	}
	if group == GroupIIIb && pollutionDegree == 3 && rmsV > groupIIIbLimitV && !same(rmsV, groupIIIbLimitV) {
		return Need{}, fmt.Errorf("material group IIIb is not recommended above %d V rms in pollution degree 3: no value at %s V", groupIIIbLimitV, text(rmsV))
	}

	column := "group " + group.String()
	value := func(i int) float64 { return creepageRows[i].generalM(pollutionDegree, group) }
	var n Need
	n.Confidence = Worst(creepageRows[p.lo].confidence, creepageRows[p.hi].confidence)
	if printedBoard {
		if b := pollutionDegree - 1; hasBoardColumn(pollutionDegree, group) && creepageRows[p.hi].boardM[b] > 0 {
			column = "printed board"
			value = func(i int) float64 { return creepageRows[i].boardM[b] }
		} else {
			n.Steps = append(n.Steps, fmt.Sprintf("printed board: no column of its own in degree %d, group %s at %s V; general column taken", pollutionDegree, group, text(rmsV)))
			n.Confidence = Worst(n.Confidence, creepageBoardFallback)
		}
	}

	n.Table = fmt.Sprintf("IEC 60664-1:2007 Table F.4, pollution degree %d, %s", pollutionDegree, column)
	n.Row = p.rowName(func(i int) string { return text(row(i)) + " V" })
	n.DistanceM = p.value(value)
	step := fmt.Sprintf("degree %d, %s, row %s: %s", pollutionDegree, column, n.Row, millimetres(n.DistanceM))
	if p.between() {
		step = fmt.Sprintf("degree %d, %s, %s V between rows %s: %s", pollutionDegree, column, text(rmsV), n.Row, millimetres(n.DistanceM))
		n.Confidence = Worst(n.Confidence, creepageInterpolation)
	}
	n.Steps = append(n.Steps, step)

	if kind == Reinforced {
		n.DistanceM *= 2
		n.Steps = append(n.Steps, "reinforced: x 2 = "+millimetres(n.DistanceM))
		n.Confidence = Worst(n.Confidence, creepageReinforced)
	}
	return n, nil
}

// hasBoardColumn reports whether printed boards have a column of their own.
func hasBoardColumn(degree int, group Group) bool {
	return degree == 1 || degree == 2 && group != GroupIIIb
}

// generalM returns the distance in metres for any insulating surface.
func (r creepageRow) generalM(degree int, group Group) float64 {
	if degree == 1 {
		return r.degree1M
	}
	// IIIa and IIIb share the third column.
	return r.groupM[degree-2][min(group, GroupIIIa)-GroupI]
}

// CreepageNotBelow returns creepage, raised to clearance where that is larger:
// a surface path is never shorter than the air path beside it may be. The mark
// is the worst of both and of the rule, because either could have decided; that
// of creepage alone where the clearance is less than half of it, which no doubt about
// a row bridges.
//
// Source: IEC 60664-1 (one public text read, mark B).
func CreepageNotBelow(creepage, clearance Need) Need {
	if clearance.DistanceM < creepage.DistanceM/2 {
		return creepage
	}
	mark := Worst(Worst(creepage.Confidence, clearance.Confidence), creepageFloor)
	n := creepage
	n.Steps = append([]string(nil), creepage.Steps...)
	if clearance.DistanceM > creepage.DistanceM {
		n.DistanceM, n.Table, n.Row = clearance.DistanceM, clearance.Table, clearance.Row
		n.Steps = append(n.Steps, "not below the clearance: "+millimetres(n.DistanceM))
	}
	n.Confidence = mark
	return n
}
