package cli

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// What passed is packed away in a run over many layouts, and every report has the bytes that it has without: with layouts that fail,
// one whose sensors are swapped, so that verdicts are folded, and one that cannot be understood.
func TestPackedVerdicts(t *testing.T) {
	dir := t.TempDir()
	for k := range packFrom {
		write(t, filepath.Join(dir, fmt.Sprintf("drive-%02d.yaml", k)), "layout: 1\n"+strings.ReplaceAll(`bars: {U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: U, at: [0 mm, 5 mm], axis: 180 deg, part: p}}
parts: {p: {linear-range: 25 mT, sensitivity: 70 mV/mT}}
duties: {run: {kind: continuous, currents: {U: {dc: N A}}}}
`, "N", fmt.Sprint(100+20*k)))
	}
	swapped := bare(0)
	swapped = strings.NewReplacer("reads: U", "reads: V", "reads: V", "reads: U").Replace(swapped)
	write(t, filepath.Join(dir, "drive-07-swapped.yaml"), swapped)
	write(t, filepath.Join(dir, "drive-30-broken.yaml"), "layout: 1\nbars: 7\n")
	failing, err := fixtures.FS.ReadFile("failing/battery-container.yaml")
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "failing.yaml"), string(failing))

	var judged []outcome // once for all runs
	run := func(format string, unpacked, passes bool) string {
		var out, errs bytes.Buffer
		s := &Streams{Out: &out, Err: &errs, Dir: dir, Env: func(string) string { return "" }}
		o := &checkOptions{format: format, failLevel: "warning", color: "never", remedies: "quick", passes: passes, detail: passes, storeOptions: storeOptions{none: true, mb: 1}}
		w, err := o.wanted(s, true)
		if err != nil {
			t.Fatal(err)
		}
		g, err := o.open(context.Background(), s, []string{"."}, nil)
		if err != nil {
			t.Fatal(err)
		}
		defer g.finder.close()
		if judged == nil {
			if judged, err = (&checker{}).each(context.Background(), g.inputs, g.standards); err != nil {
				t.Fatal(err)
			}
		}
		outcomes := append([]outcome(nil), judged...)
		for i := range outcomes {
			if !unpacked {
				outcomes[i].pack(g.inputs[i].Path, o.packing(nil, len(g.inputs)))
				if outcomes[i].packed == nil {
					t.Fatal("nothing is packed")
				}
			}
		}
		if err := o.finish(context.Background(), s, w, g, outcomes); err == nil || errs.Len() > 0 {
			t.Fatalf("%v, %s", err, &errs)
		}
		return out.String()
	}
	for _, format := range checkFormats {
		for _, passes := range []bool{false, true} {
			got, want := run(format, false, passes), run(format, true, passes)
			if got != want {
				t.Errorf("%s, passes %v: packed verdicts give another report", format, passes)
			}
			if format == "text" && passes && strings.Count(want, "stands over one bar and reads another. See rule") < 2 {
				t.Errorf("no verdict is folded:\n%s", want)
			}
		}
	}
}
