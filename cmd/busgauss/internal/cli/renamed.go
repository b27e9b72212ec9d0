package cli

import (
	"bytes"
	"io/fs"
	"maps"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/rules/enforce"
	"busgauss/schema/load"
)

// renamed says what deviations and the baseline of a set call each layout that it judges, and its sensors, where the
// revision that they are taken from tells: the layout is the same where its bytes stood under a path that is gone
// now, and is not a file of that revision itself. which are the inputs that the set judges.
func (set *standardSet) renamed(inputs []input, standards []layoutStandard, which []int) map[int]enforce.Was {
	if set.head == nil || set.effective == nil {
		return nil
	}
	named := set.objects()
	for file, objects := range set.head.objects() {
		named[file] = append(named[file], objects...)
	}
	before := map[string][]byte{} // of the layouts that the files of the set name
	var gone []string
	for _, file := range slices.Sorted(maps.Keys(named)) {
		data, err := fs.ReadFile(set.tree.root, file)
		if err != nil {
			continue // named, but not there either
		}
		before[file] = data
		if !set.head.exists(file) {
			gone = append(gone, file)
		}
	}
	out := map[int]enforce.Was{}
	for _, i := range which {
		at := standards[i].layout
		if data, there := before[at]; there {
			if !bytes.Equal(data, inputs[i].Data) {
				if names := renamedSensors(data, inputs[i].Data, named[at]); len(names) > 0 {
					out[i] = enforce.Was{Names: names}
				}
			}
			continue
		}
		for n, file := range gone {
			if !bytes.Equal(before[file], inputs[i].Data) || set.exists(at) {
				continue
			}
			out[i] = enforce.Was{Layout: file}
			gone = append(gone[:n:n], gone[n+1:]...) // each once
			break
		}
	}
	return out
}

// objects returns the names that deviations and the baseline know, by layout.
func (set *standardSet) objects() map[string][]string {
	out := map[string][]string{}
	for i := range set.files.Baseline {
		e := &set.files.Baseline[i]
		out[e.File] = append(append(out[e.File], e.Object, e.Cause), e.Others...)
	}
	for i := range set.files.Deviations {
		d := &set.files.Deviations[i]
		out[d.File.Value] = append(out[d.File.Value], d.Object.Value, d.Cause.Value)
	}
	return out
}

// renamedSensors returns the names before, by the names now, of those sensors among names that stand where one of
// another name stood, along the same axis, and read the same bar. The old name must be gone, the new one must be new, and
// neither place may hold two.
func renamedSensors(before, now []byte, names []string) map[string]string {
	wanted := map[string]bool{}
	for _, n := range names {
		wanted[n] = true
	}
	was, _ := load.Load("before", before)
	is, _ := load.Load("now", now)
	if was == nil || is == nil {
		return nil
	}
	oldNames, newNames := namesOf(was), namesOf(is)
	type place struct {
		at, axis geom.Point3
		bar      string
		circuit  string
	}
	placeOf := func(l *layout.Layout, s *layout.Sensor) place {
		p := place{at: s.At.Point3(), axis: s.Axis.U}
		if s.Reads >= 0 && s.Circuit >= 0 {
			p.bar, p.circuit = l.Bars[s.Reads].ID, l.Circuits[s.Circuit].ID
		}
		return p
	}
	there := map[place][]string{}
	for i := range was.Sensors {
		p := placeOf(was, &was.Sensors[i])
		there[p] = append(there[p], was.Sensors[i].ID)
	}
	here := map[place]int{}
	for i := range is.Sensors {
		here[placeOf(is, &is.Sensors[i])]++
	}
	out := map[string]string{}
	for i := range is.Sensors {
		s := &is.Sensors[i]
		p := placeOf(is, s)
		old := there[p]
		if len(old) == 1 && here[p] == 1 && wanted[old[0]] && !newNames[old[0]] && !oldNames[s.ID] {
			out[s.ID] = old[0]
		}
	}
	return out
}

// namesOf returns the names of all that a finding may be about.
func namesOf(l *layout.Layout) map[string]bool {
	out := map[string]bool{}
	for i := range l.Sensors {
		out[l.Sensors[i].ID] = true
	}
	for i := range l.Bars {
		out[l.Bars[i].ID] = true
	}
	for i := range l.Circuits {
		out[l.Circuits[i].ID] = true
	}
	for i := range l.Shields {
		out[l.Shields[i].ID] = true
	}
	for i := range l.Duties {
		out[l.Duties[i].ID] = true
	}
	return out
}
