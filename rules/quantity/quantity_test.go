package quantity_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"busgauss/rules/enforce"
	"busgauss/rules/quantity"
)

func TestCatalogue(t *testing.T) {
	list := quantity.Catalogue()
	if err := enforce.ValidateQuantities(list); err != nil {
		t.Fatal(err)
	}
	count := map[enforce.Kind]int{}
	for _, q := range list {
		count[q.Kind]++
		if strings.HasSuffix(q.Doc, ".") || strings.Contains(q.Doc, "\n") || strings.Contains(q.Doc, "%!") || len(q.Doc) > 200 {
			t.Errorf("%s %s: the description is no line of its own: %q", q.Kind, q.Name, q.Doc)
		}
	}
	for kind, least := range map[enforce.Kind]int{enforce.Channel: 60, enforce.Bar: 20, enforce.Shield: 12,
		enforce.Duty: 12} {
		if count[kind] < least {
			t.Errorf("%d quantities of a %s", count[kind], kind)
		}
	}
}

// Every quantity of every object of the layouts that are in order is a value or a
// reason, has the type that the catalogue gives it, and is the same when asked
// again, in any order and at the same time.
func TestEveryQuantityAnswers(t *testing.T) {
	for _, name := range []string{"clean/ferry-thruster.yaml", "clean/ferry-channel.yaml", "clean/plausibility-pair.yaml"} {
		l := fixture(t, name)
		f, again := facts(l), facts(l)
		list := quantity.Catalogue()
		got := make([]string, len(list))
		var wait sync.WaitGroup
		for i := range list {
			wait.Go(func() {
				for _, o := range again.Objects(list[i].Kind) {
					got[i] += fmt.Sprintln(o.Name, again.Value(o, list[i].Name))
				}
			})
		}
		wait.Wait()
		for i := len(list) - 1; i >= 0; i-- {
			q := list[i]
			want := ""
			for _, o := range f.Objects(q.Kind) {
				v := f.Value(o, q.Name)
				want += fmt.Sprintln(o.Name, v)
				switch {
				case !o.Span.Valid():
					t.Errorf("%s: %s %q has no place", name, q.Kind, o.Name)
				case !v.Known && (v.Why == "" || strings.Contains(v.Why, "no such")):
					t.Errorf("%s: %s of %q is not known and does not say why: %q", name, q.Name, o.Name, v.Why)
				case v.Known && q.Type == enforce.Number && !(v.Low <= v.Value && v.Value <= v.High):
					t.Errorf("%s: %s of %q is %v", name, q.Name, o.Name, v)
				case v.Known && q.Type != enforce.Number && v.Value != 0, q.Type != enforce.Text && v.Text != "",
					q.Type != enforce.Flag && v.Flag:
					t.Errorf("%s: %s of %q is not of type %d: %v", name, q.Name, o.Name, q.Type, v)
				}
			}
			if got[i] != want {
				t.Errorf("%s: %s is\n%sand asked again\n%s", name, q.Name, want, got[i])
			}
		}
	}
}

// What does not exist is undecided and never a number.
func TestNothingThere(t *testing.T) {
	f := facts(fixture(t, "clean/ferry-thruster.yaml"))
	for what, want := range map[string]string{
		"channel SX coupling": "the layout has no such channel", "bar X area": "the layout has no such bar",
		"shield K wall": "the layout has no such shield", "duty d kind": "the layout has no such duty",
		"channel SU cupling": "there is no such quantity",
	} {
		if v := value(f, what); v.Known || v.Why != want {
			t.Errorf("%s: %+v", what, v)
		}
	}
}
