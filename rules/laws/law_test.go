package laws

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

// law is something that holds whatever the layout.
type law struct {
	name string
	says string
	// change makes what is compared out of a layout, nil where the layout has nothing to change.
	// It owns neither: a layout is copied before it is touched.
	change func(d dice, root *node) *change
	// compare returns what speaks against the law.
	compare func(c *change, before, after *checked) []breach
	// spared are rules of which the law says nothing, each with the physics that is the reason.
	spared map[string]string
}

// change is a pair of layouts and how their findings are set against each other.
type change struct {
	before, after *node // before is nil where it is the layout itself
	rename        func(string) string
	spell         speller // units of after
	note          string  // what was done, for people
}

// breach is one finding that breaks a law.
type breach struct {
	law, rule, object, text string
	widened                 bool    // a bound of after is more than twice that of before
	apart                   float64 // values differ by so much of the larger; 0 where verdicts do
	was, is                 finding.Verdict
}

func (b *breach) String() string {
	return fmt.Sprintf("law %q, rule %q, object %q:\n%s", b.law, b.rule, b.object, b.text)
}

// bed keeps what a layout gave before any change, for all the laws that look at it.
type bed struct {
	root *node
	base checked
}

func lay(root *node) *bed { return &bed{root: root, base: check(yaml(root, nil), engine.Options{})} }

// hold applies a law and returns what breaks it, and whether the layout had anything to change.
func (b *bed) hold(l *law, d dice) (out []breach, applied bool) {
	c := l.change(d, b.root)
	if c == nil {
		return nil, false
	}
	before := b.base
	if c.before != nil {
		before = check(yaml(c.before, nil), engine.Options{})
	}
	if !before.loads() {
		return nil, false
	}
	after := check(yaml(c.after, c.spell), engine.Options{})
	out = l.compare(c, &before, &after)
	out = slices.DeleteFunc(out, func(x breach) bool { _, ok := l.spared[x.rule]; return ok })
	for i := range out {
		out[i].law = l.name
		out[i].text = c.note + "\n" + out[i].text
	}
	return out, true
}

// slack is what arithmetic may take from a value that nothing but round-off separates from
// another: places are written with fifteen digits, and differences of fields lose some.
const slack = 1e-6

// meshSlack is what two meshes of one layout leave between sums of many fields, such as the error of a channel: what
// such a sum states is how far the whole is off, not by how much each of its terms.
const meshSlack = 1e-3

// sums are the rules that add up many fields.
var sums = []string{"bar-heating", "channel-accuracy", "zeroing", "battery-view", "phase-sum", "response", "trip"}

func slackOf(root *node, rule string) float64 {
	if k := kindOf(root); (k == "shielded" || k == "alternating") && slices.Contains(sums, rule) {
		return meshSlack
	}
	return slack
}

// same holds two checks to one another: the same verdicts, the same values within their bounds. A
// verdict may differ where its limit lies inside both bounds.
func same(c *change, before, after *checked) []breach {
	if !after.loads() {
		return []breach{{text: "  does not load any more:\n" + lines(after.problems)}}
	}
	var out []breach
	was, is := before.grouped(c.rename), after.grouped(nil)
	loose := !still(c.after)
	for _, k := range sortedKeys(was) {
		a, b := was[k], is[k]
		widened := false
		for i := range min(len(a), len(b)) {
			if m, n := a[i].Measure, b[i].Measure; m != nil && (n == nil || !(n.Certainty <= 2*m.Certainty)) {
				widened = true
			}
		}
		tell := func(x, y finding.Verdict, apart float64, format string, args ...any) {
			out = append(out, breach{rule: k.rule, object: k.object, widened: widened, apart: apart, was: x, is: y,
				text: "  " + fmt.Sprintf(format, args...) + "\n  before:\n" + lines(a) + "  after:\n" + lines(b)})
		}
		if len(a) != len(b) {
			tell(a[0].Verdict, worstOf(b), 0, "%d findings became %d", len(a), len(b))
			continue
		}
		for i := range a {
			x, y := a[i], b[i]
			if x.Measure == nil || y.Measure == nil {
				if x.Verdict != y.Verdict || (x.Measure == nil) != (y.Measure == nil) {
					tell(x.Verdict, y.Verdict, 0, "%s became %s", x.Verdict, y.Verdict)
					break
				}
				continue
			}
			m, n := x.Measure, y.Measure
			may := slackOf(c.after, k.rule) * math.Max(math.Max(math.Abs(m.Value), math.Abs(n.Value)), math.Abs(m.Limit))
			if loose || x.Rule == "bar-heating" { // which says by how much corners of other metal move it
				may += spread(m.Value, m.Certainty) + spread(n.Value, n.Certainty)
			}
			if x.Verdict != y.Verdict && !(math.Abs(m.Value-m.Limit) <= may || math.Abs(n.Value-n.Limit) <= may) {
				tell(x.Verdict, y.Verdict, 0, "%s became %s", x.Verdict, y.Verdict)
				break
			}
			if unknown := math.IsNaN(m.Certainty) || math.IsNaN(n.Certainty); !unknown &&
				math.Abs(m.Value-n.Value) > may {
				tell(x.Verdict, y.Verdict, math.Abs(m.Value-n.Value)/math.Max(math.Abs(m.Value), math.Abs(n.Value)),
					"%.9g became %.9g, more than %.2g apart", m.Value, n.Value, may)
				break
			}
		}
	}
	return out
}

func worstOf(list []finding.Finding) finding.Verdict {
	if len(list) == 0 {
		return finding.NotApplicable
	}
	return list[0].Verdict
}

// spread is the half width of a bound; infinite where it is not known.
func spread(value, certainty float64) float64 {
	if w := math.Abs(value * certainty); !math.IsNaN(w) {
		return w
	}
	return math.Inf(1)
}

// still says that nothing in a layout needs more than fields in closed form: no shield, nothing
// that alternates.
func still(root *node) bool {
	if root.hasSection("shields") {
		return false
	}
	alternating := false
	root.each(func(n *node) {
		if n.kind == mapping && (n.get("frequency") != nil || n.get("period") != nil || n.get("lag") != nil) {
			alternating = true
		}
	})
	return !alternating
}

// worse holds that no verdict gets better: fail, undecided, pass, nothing said, in this order.
func worse(c *change, before, after *checked) []breach {
	if !after.loads() {
		return []breach{{text: "  does not load any more:\n" + lines(after.problems)}}
	}
	var out []breach
	was, is := before.grouped(c.rename), after.grouped(nil)
	for _, k := range sortedKeys(was) {
		a, b := was[k], is[k]
		if len(b) > 0 && badness(b[0].Verdict) >= badness(a[0].Verdict) || badness(a[0].Verdict) == 0 ||
			k.object == "" {
			continue // a sentence about all objects gives way to what is said of one
		}
		out = append(out, breach{rule: k.rule, object: k.object, was: a[0].Verdict, is: worstOf(b),
			text: fmt.Sprintf("  %s became %s\n  before:\n%s  after:\n%s", a[0].Verdict, worstOf(b), lines(a),
				lines(b))})
	}
	return out
}

// wider holds that what may be, without being so, turns no fail and nothing undecided into a pass. A
// bound that grows leaves a fail near its limit undecided, and rightly.
func wider(c *change, before, after *checked) []breach {
	return slices.DeleteFunc(worse(c, before, after), func(b breach) bool {
		return b.was == finding.Fail && b.is == finding.Undecided
	})
}

// all is every law that compares two layouts.
func all() []law {
	return slices.Concat(sameLaws(), spellingLaws(), worseLaws(), worseFlowLaws(), lessLaws())
}

// only returns a copy of root and whether f changed it.
func changed(root *node, note string, f func(root *node) bool) *change {
	after := root.clone()
	if !f(after) {
		return nil
	}
	return &change{after: after, note: "  " + strings.TrimSpace(note)}
}
