package rules

import (
	"fmt"
	"math"

	"busgauss/model/insulation"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// airNeed is the clearance that the voltages of a gap need. open says what is not known
// of them, as a sentence: the need is then a least one.
type airNeed struct {
	insulation.Need
	open string
}

// lasting is a voltage that a gap stands again and again.
type lasting struct {
	name  string
	peakV float64
}

// lastingVoltages returns the peaks of the voltages that last: working, temporary, recurring.
func lastingVoltages(in *layout.Insulation) []lasting {
	var out []lasting
	if in.WorkingV.Set {
		peak := in.WorkingV.V
		if !in.WorkingIsDC {
			peak *= math.Sqrt2
		}
		out = append(out, lasting{"working voltage", peak})
	}
	if in.TemporaryV.Set {
		out = append(out, lasting{"temporary overvoltage", in.TemporaryV.V})
	}
	if in.RecurringV.Set {
		out = append(out, lasting{"recurring peak voltage", in.RecurringV.V})
	}
	return out
}

// neededClearance returns the largest clearance that one of the voltages needs. What
// the others need is said in its steps.
func neededClearance(in *layout.Insulation) (airNeed, error) {
	kind, ok := insulation.KindByName(in.Kind)
	if !ok {
		return airNeed{}, fmt.Errorf("kind %q is unknown", in.Kind)
	}
	var need airNeed
	degree := int(in.PollutionDegree.V)
	var err error
	switch {
	case in.ImpulseV.Set:
		need.Need, err = insulation.Clearance(in.ImpulseV.V, degree, kind, in.AltitudeM.V)
	case in.SupplyV.Set && in.Category.Set:
		need.Need, err = insulation.SupplyClearance(in.SupplyV.V, int(in.Category.V), in.SupplyIsDC, degree, kind,
			in.AltitudeM.V)
	default:
		need.open = "No impulse voltage is known: give an impulse, or a supply with its overvoltage category"
	}
	if err != nil {
		return airNeed{}, err
	}
	last := lastingVoltages(in)
	if need.open != "" && len(last) == 0 {
		return airNeed{}, fmt.Errorf("no voltage: give an impulse, or a supply with its overvoltage category")
	}
	for _, v := range last {
		if in.ImpulseV.Set && v.peakV > in.ImpulseV.V {
			return airNeed{}, fmt.Errorf("the impulse of %s is below the peak of the %s, %s: one of the two is wrong",
				si.Format(in.ImpulseV.V, "V"), v.name, si.Format(v.peakV, "V"))
		}
		n, err := insulation.SteadyClearance(v.peakV, kind, in.AltitudeM.V)
		if err != nil {
			return airNeed{}, fmt.Errorf("%s: %w", v.name, err)
		}
		for i := range n.Steps {
			n.Steps[i] = fmt.Sprintf("%s of %s peak: %s", v.name, si.Format(v.peakV, "V"), n.Steps[i])
		}
		said := append(need.Steps[:len(need.Steps):len(need.Steps)], n.Steps...)
		need.Need = insulation.Larger(need.Need, n)
		need.Steps = said
	}
	return need, nil
}
