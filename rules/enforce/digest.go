package enforce

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"slices"
	"strings"

	"busgauss/model/policy"
)

// Judging returns a digest of all that the standard has to do with the verdicts
// on a layout before deviations and the baseline: the files of the standard and
// the layers that count for the layout. One content judged under equal ones gives
// equal verdicts. It is empty where there is no standard.
func (v *View) Judging() string {
	if len(v.e.set.Files) == 0 {
		return ""
	}
	sum := sha256.New()
	for _, f := range v.e.set.Files {
		part(sum, f.Path)
	}
	for _, s := range v.e.set.Sources {
		if slices.ContainsFunc(v.e.set.Files, func(f *policy.File) bool { return f.Path == s.RootPath }) {
			part(sum, s.RootPath, string(s.Data))
		}
	}
	for i := range v.e.layers {
		l := &v.e.layers[i]
		if slices.Contains(v.layers, l) || slices.Contains(v.classes, l) {
			fmt.Fprintf(sum, "%d,", i)
		}
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// Permitting returns a digest of what deviations and the baseline say of the
// layout; empty where they say nothing.
func (v *View) Permitting() string {
	sum, some := sha256.New(), false
	for i := range v.e.set.Deviations {
		d := v.e.set.Deviations[i]
		if d.File.Value != v.layout {
			continue
		}
		some = true
		part(sum, d.Rule.Value, d.Object.Value, d.Cause.Value, d.Reason.Value, d.Approver.Value, d.Ticket.Value, d.UpTo.Text)
		fmt.Fprintf(sum, "%d %t %t,", d.Until, d.Undecided, d.Cause.Given())
	}
	for i := range v.e.set.Baseline {
		e := &v.e.set.Baseline[i]
		if e.File != v.layout {
			continue
		}
		some = true
		part(sum, e.Rule, e.Object, e.Cause, strings.Join(e.Others, "\x00"), e.Level, e.Unit)
		fmt.Fprintf(sum, "%t %t %g %g,", e.Undecided, e.HasValue, e.Value, e.Limit)
	}
	if !some {
		return ""
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// part adds texts so that no two lists of them read alike.
func part(sum hash.Hash, texts ...string) {
	for _, t := range texts {
		fmt.Fprintf(sum, "%d:%s", len(t), t)
	}
}
