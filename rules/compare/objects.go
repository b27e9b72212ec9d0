package compare

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
)

// objects pairs the verdicts of two sides by the objects that they are about.
// Checks on the whole layout come first, then the objects in the order of the
// file, sensors before bars and shields.
func objects(before, after *Layout, renamed names, changes []Change) []Object {
	var out []Object
	at := map[string]int{} // by name after the change
	get := func(name string) *Object {
		i, ok := at[name]
		if !ok {
			i = len(out)
			at[name] = i
			out = append(out, Object{})
		}
		return &out[i]
	}
	was, now := map[string][]*finding.Finding{}, map[string][]*finding.Finding{}
	for _, f := range verdicts(before) {
		name := renamed.any(f.Object)
		o := get(name)
		o.Before = f.Object
		was[name] = append(was[name], f)
	}
	for _, f := range verdicts(after) {
		o := get(f.Object)
		o.After = f.Object
		now[f.Object] = append(now[f.Object], f)
	}
	for name, i := range at {
		o := &out[i]
		o.Checks = checks(was[name], now[name], renamed)
		for _, c := range o.Checks {
			o.Class = max(o.Class, c.Class)
		}
	}
	place := func(o *Object) (kind string, order int) {
		if kind, order = find(after.read(), o.After); kind == "" {
			kind, order = find(before.read(), o.Before)
		}
		return kind, order
	}
	for i := range out {
		o := &out[i]
		o.Kind, _ = place(o)
		// An object that no verdict is about on one side may still be there.
		if k, _ := find(after.read(), cmp.Or(o.After, renamed.any(o.Before))); o.After == "" && k != "" {
			o.After = renamed.any(o.Before)
		}
		if k, _ := find(before.read(), o.After); o.Before == "" && k != "" {
			o.Before = o.After
		}
		o.Own, o.Causes = causes(o, before.read(), after.read(), changes)
	}
	slices.SortFunc(out, func(a, b Object) int {
		_, x := place(&a)
		_, y := place(&b)
		return cmp.Or(cmp.Compare(x, y), cmp.Compare(a.Name(), b.Name()))
	})
	return out
}

// verdicts returns what counts on one side: a question that does not arise is no
// verdict.
func verdicts(l *Layout) []*finding.Finding {
	var out []*finding.Finding
	if l == nil {
		return nil
	}
	for i := range l.Findings {
		if l.Findings[i].Verdict != finding.NotApplicable {
			out = append(out, &l.Findings[i])
		}
	}
	return out
}

// find returns the kind of the object called name and where it stands among all.
func find(l *layout.Layout, name string) (kind string, order int) {
	const each = 1 << 20 // more than a list of a layout can hold
	if name == "" {
		return "", 0
	}
	if l != nil {
		for i := range l.Sensors {
			if l.Sensors[i].ID == name {
				return "sensor", each + i
			}
		}
		for i := range l.Bars {
			if l.Bars[i].ID == name {
				return "bar", 2*each + i
			}
		}
		for i := range l.Shields {
			if l.Shields[i].ID == name {
				return "shield", 3*each + i
			}
		}
		for i := range l.Duties {
			if l.Duties[i].ID == name {
				return "duty", 4*each + i
			}
		}
	}
	return "", 5 * each
}

// checks pairs the verdicts on one object: by rule, cause and the other objects;
// then by rule and cause; then, where a rule speaks of the worst case alone, by
// rule. They come by rule and cause.
func checks(was, now []*finding.Finding, renamed names) []Check {
	usedWas, usedNow := make([]bool, len(was)), make([]bool, len(now))
	var out []Check
	match := func(key func(f *finding.Finding, r names) string) {
		first := map[string][]int{}
		for i, f := range was {
			if !usedWas[i] {
				k := key(f, renamed)
				first[k] = append(first[k], i)
			}
		}
		for k, f := range now {
			if list := first[key(f, nil)]; !usedNow[k] && len(list) > 0 {
				i := list[0]
				first[key(f, nil)] = list[1:]
				usedWas[i], usedNow[k] = true, true
				out = append(out, Check{Rule: f.Rule, Before: was[i], After: f})
			}
		}
	}
	match(func(f *finding.Finding, r names) string {
		others := slices.Clone(f.Others)
		for i := range others {
			others[i] = r.any(others[i])
		}
		slices.Sort(others)
		return f.Rule + "\x00" + causeAfter(f.Cause, r) + "\x00" + strings.Join(others, "\x00")
	})
	match(func(f *finding.Finding, r names) string { return f.Rule + "\x00" + causeAfter(f.Cause, r) })
	single := func(list []*finding.Finding, rule string) bool {
		n := 0
		for _, f := range list {
			if f.Rule == rule {
				n++
			}
		}
		return n == 1
	}
	match(func(f *finding.Finding, _ names) string {
		if single(was, f.Rule) && single(now, f.Rule) {
			return f.Rule
		}
		return f.Rule + "\x00" + f.Cause + "\x00" // pairs with nothing that is left
	})
	for i, f := range was {
		if !usedWas[i] {
			out = append(out, Check{Rule: f.Rule, Before: f})
		}
	}
	for k, f := range now {
		if !usedNow[k] {
			out = append(out, Check{Rule: f.Rule, After: f})
		}
	}
	for i := range out {
		c := &out[i]
		c.Class, c.Was = classify(c.Before, c.After), limitWas(c.Before, c.After)
	}
	slices.SortStableFunc(out, func(a, b Check) int {
		return cmp.Or(cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.cause(), b.cause()))
	})
	return out
}

// causeAfter returns a cause as it reads after objects were renamed: it is the
// name of one, or has it in quotes.
func causeAfter(cause string, r names) string {
	if after := r.any(cause); after != cause {
		return after
	}
	for _, kind := range []string{"duty", "bar", "sensor", "shield"} {
		for _, before := range slices.Sorted(maps.Keys(r[kind])) {
			if next := strings.ReplaceAll(cause, `"`+before+`"`, `"`+r[kind][before]+`"`); next != cause {
				return next
			}
		}
	}
	return cause
}

// causes returns the changes that can have moved the numbers of an object, and
// whether one of them is its own. A channel hangs on every bar, shield and duty,
// on its own part and needs, and on no other sensor.
func causes(o *Object, before, after *layout.Layout, changes []Change) (own bool, out []Change) {
	parts := map[string]bool{}
	for _, side := range []struct {
		l    *layout.Layout
		name string
	}{{before, o.Before}, {after, o.After}} {
		if side.l == nil {
			continue
		}
		if i, ok := side.l.Sensor(side.name); ok {
			if p := side.l.PartOf(&side.l.Sensors[i]); p != nil {
				parts[p.ID] = true
			}
		}
	}
	for _, c := range changes {
		if c.What == Renamed {
			continue // a name moves nothing
		}
		mine := c.Kind == o.Kind && c.Name != "" && c.Name == o.Name()
		may := true
		if o.Kind == "sensor" {
			switch c.Kind {
			case "sensor":
				may = mine
			case "part":
				may = parts[c.Name]
				mine = may
			case "need", "calibration":
				mine = c.Name == o.After
				may = mine || c.Name == "all"
			case "insulation":
				may = false
			}
		} else if o.Kind != "" {
			switch c.Kind {
			case "part", "need", "calibration", "readout", "phase sum":
				may = false
			}
		}
		if mine {
			own = true
		}
		if may {
			out = append(out, c)
		}
	}
	return own, out
}
