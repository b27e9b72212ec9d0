package rules_test

import (
	"fmt"
	"math/rand/v2"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/model/work"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// within checks a layout within a budget; nil where the text holds none.
func within(t *testing.T, of *work.Budget, name, text string) []finding.Finding {
	t.Helper()
	l, _ := load.Load(name, []byte(text))
	if l == nil {
		return nil
	}
	return engine.CheckWith(probe.NewModelWithin(of, l), rules.All(), engine.Options{})
}

// littleBeyond is the share of a budget by which small things may pass it, onceMore the steps that what cannot say its cost before takes besides.
const littleBeyond, onceMore = 0.1, 2e9

// unsaid is what is so of none of the layouts below: a number that is missing is not zero.
var unsaid = regexp.MustCompile("reads nothing|is zero|lies across|cancel")

// With less work fewer things are answered: what passes or does not apply does so with enough of it, what fails is found with
// enough of it, every rule still speaks of the objects that it spoke of, and a budget is passed by a little at most.
func TestLessWork(t *testing.T) {
	names := []string{"clean/ferry-channels.yaml", "failing/winch-channels.yaml", "failing/container-short-channels.yaml"}
	if *long {
		names = append(names, "failing/crane-copper-channel.yaml", "failing/generator-fault.yaml", "failing/tug-steel-channel.yaml",
			"examples/lock-gate.yaml", "examples/three-bars.yaml", "clean/crane-two-legs.yaml")
	}
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		text := string(data)
		full := work.New(1 << 30)
		verdicts := map[string][]finding.Verdict{}
		for _, f := range within(t, full, name, text) {
			key := f.Rule + " " + f.Object
			verdicts[key] = append(verdicts[key], f.Verdict)
		}
		for _, share := range []float64{0.02, 0.3, 0.8} {
			b := work.Of(share * full.Taken())
			spoke := map[string]bool{}
			undecided, errors := 0, 0
			for _, f := range within(t, b, name, text) {
				key := f.Rule + " " + f.Object
				spoke[key] = true
				if f.Verdict == finding.Undecided {
					undecided++
					if f.Level == finding.Error {
						errors++
					}
					if f.Level > finding.Warning && !work.Says(f.Message) || unsaid.MatchString(f.Message) {
						t.Errorf("%s with %.0f %% of its work: %v, and it says more than is known: %s", name, 100*share, f.Level, f.Message)
					}
				} else if !slices.Contains(verdicts[key], f.Verdict) {
					t.Errorf("%s with %.0f %% of its work: %s is %v, with all of it %v: %s", name, 100*share, key, f.Verdict, verdicts[key], f.Message)
				}
				if strings.Contains(f.Message, "NaN") || strings.Contains(f.Remedy, "NaN") {
					t.Errorf("%s: no number is printed: %s", name, f.Message)
				}
			}
			for key := range verdicts {
				if !spoke[key] {
					t.Errorf("%s with %.0f %% of its work: nothing is said of %s", name, 100*share, key)
				}
			}
			if b.Over() == nil || share < 0.1 && errors == 0 { // of rules whose findings are errors
				t.Errorf("%s with %.0f %% of its work: %d undecided, %d of them errors, over %v", name, 100*share, undecided, errors, b.Over())
			}
			if b.Taken() > (1+littleBeyond)*b.Most()+onceMore {
				t.Errorf("%s: %.0f million steps taken of %.0f", name, b.Taken()/1e6, b.Most()/1e6)
			}
		}
	}
}

var quantities = regexp.MustCompile(`\d+(\.\d+)? (mm|A|Hz|T|deg|MS/m)`)

// mutated returns a text with a few slips: numbers times a factor, lines of a list twice, numbers of two places exchanged.
func mutated(random *rand.Rand, text string) string {
	for range 1 + random.IntN(3) {
		at := quantities.FindAllStringIndex(text, -1)
		if len(at) == 0 {
			return text
		}
		a := at[random.IntN(len(at))]
		number, unit, _ := strings.Cut(text[a[0]:a[1]], " ")
		switch random.IntN(4) {
		case 0: // a line twice, under another name
			lines := strings.SplitAfter(text, "\n")
			i := random.IntN(len(lines))
			lines[i] += strings.Replace(lines[i], ":", strconv.Itoa(random.IntN(1000))+":", 1)
			text = strings.Join(lines, "")
		case 1: // another of the same unit
			b := at[random.IntN(len(at))]
			if _, u, _ := strings.Cut(text[b[0]:b[1]], " "); u == unit {
				text = text[:a[0]] + text[b[0]:b[1]] + text[a[1]:]
			}
		default:
			v, _ := strconv.ParseFloat(number, 64)
			v *= []float64{0.01, 0.1, 0.5, 2, 10, 100, 1000}[random.IntN(7)]
			text = text[:a[0]] + strconv.FormatFloat(v, 'g', 6, 64) + " " + unit + text[a[1]:]
		}
	}
	return text
}

// No slip in an example takes more than the budget of a layout and a little: the dearest per kilobyte are told.
func TestSlipsTakeTheirBudget(t *testing.T) {
	if !*long {
		t.Skip("takes minutes: -long")
	}
	const most = 3000 // million steps, so that what passes it is seen soon
	random := rand.New(rand.NewPCG(16, 2))
	var told []string
	worst := 0.0
	names, err := fixtures.Layouts()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for k := range 8 {
			text := mutated(random, string(data))
			b := work.New(most)
			within(t, b, name, text)
			if b.Taken() > (1+littleBeyond)*b.Most()+onceMore {
				t.Errorf("%s, slip %d: %.0f million steps taken of %d:\n%s", name, k, b.Taken()/1e6, most, text)
			}
			if per := b.Taken() / float64(len(text)); per > worst {
				worst = per
				told = append(told, fmt.Sprintf("%s: %.0f million steps a kilobyte, over: %v", path.Base(name), per*1024/1e6, b.Over() != nil))
			}
		}
	}
	t.Log(strings.Join(told, "\n"))
}
