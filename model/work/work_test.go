package work

import (
	"errors"
	"strings"
	"testing"
)

// What fits is taken; once something does not, nothing more is begun, and the reason names what it was and what there is.
func TestTake(t *testing.T) {
	b := New(100)
	if err := b.Take(60*Million, "a mesh"); err != nil {
		t.Fatal(err)
	}
	err := b.Take(60*Million, "a solution")
	var over *Over
	if !errors.As(err, &over) || over.What != "a solution" || over.Needs != 60*Million || over.Left != 40*Million || over.Most != 100*Million {
		t.Fatalf("error %+v", err)
	}
	for _, want := range []string{"a solution takes 60 million", "of the 100", "40 are left", "--work"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
	if b.Take(1, "a step") == nil || b.Take(0, "nothing") == nil {
		t.Error("something was begun after the end")
	}
	if b.Denied() != 3 || b.Taken() != 60*Million || b.Over() != over {
		t.Errorf("denied %d, taken %g", b.Denied(), b.Taken())
	}
	b.Missing()
	if b.Denied() != 4 {
		t.Error("what is missing does not count")
	}
	// Small things go on to a tenth beyond it, and what has to be done counts.
	if err := b.Small(45*Million, "a reading"); err != nil {
		t.Error(err)
	}
	if b.Small(6*Million, "a reading") == nil {
		t.Error("small things have no end")
	}
	b.Spend(5 * Million)
	if b.Taken() != 110*Million {
		t.Errorf("taken %g", b.Taken())
	}
}

// What a run has left is raised by the work of the run, and by nothing that a layout may take; parts of it are no other.
func TestOfRun(t *testing.T) {
	for want, b := range map[string]*Budget{
		"of the 10 that this layout may take 10 are left (--work, or `work` of the standard, raises that)": New(10),
		"of the 10 that the run had left for this layout 10 are left (--run-work raises that)":             New(10).OfRun(),
		"of the 5 that the run had left for this layout 5 are left (--run-work raises that)":               New(10).OfRun().Fork(2)[0],
	} {
		err := b.Take(60*Million, "a mesh")
		if err == nil || !strings.HasSuffix(err.Error(), want) || !Says("S: "+err.Error()+". More") || Says("S: a mesh takes long") {
			t.Errorf("%v, want ... %s", err, want)
		}
	}
}

// A budget without an end lets everything pass.
func TestNoBudget(t *testing.T) {
	b := New(0)
	b.Spend(1e30)
	if b != nil || b.Take(1e30, "x") != nil || b.Small(1e30, "x") != nil || b.Over() != nil || b.Taken() != 0 || b.Denied() != 0 || b.Most() != 0 {
		t.Error("no budget is a budget")
	}
	if parts := b.Fork(2); parts[0] != nil || len(parts) != 2 {
		t.Error("parts of no budget")
	}
}

// Parts get an even share of what is left, and what they took counts after them.
func TestFork(t *testing.T) {
	b := New(100)
	b.Spend(20 * Million)
	b.Missing()
	if b.Denied() != 0 {
		t.Error("something is missing before the end")
	}
	parts := b.Fork(2)
	if parts[0].Take(41*Million, "x") == nil || parts[1].Take(40*Million, "y") != nil {
		t.Error("parts are not 40 each")
	}
	b.Join(parts)
	if b.Taken() != 60*Million || b.Over() != nil {
		t.Errorf("taken %g, over %v", b.Taken(), b.Over())
	}
	if b.Take(40*Million, "x") != nil {
		t.Error("what the parts left is not there")
	}
}

// A shelf drops what was used longest ago, never what was put last, and counts a thing that has grown anew.
func TestShelf(t *testing.T) {
	s := NewShelf(100)
	put := func(bytes int64) *Item {
		i := s.Item()
		i.Put(bytes, bytes)
		return i
	}
	a, b := put(40), put(40)
	a.Value() // used after b
	b.Peek()  // which is no use
	c := put(40)
	if a.Value() == nil || b.Value() != nil || c.Value() == nil || s.Bytes() != 80 {
		t.Errorf("kept %v, %v, %v: %d bytes", a.Peek(), b.Peek(), c.Peek(), s.Bytes())
	}
	a.Put(int64(90), 90)
	if a.Value() == nil || c.Value() != nil || s.Bytes() != 90 {
		t.Errorf("after it has grown: %v, %v, %d bytes", a.Peek(), c.Peek(), s.Bytes())
	}
	large := put(1000)
	if large.Value() == nil || a.Value() != nil || !s.Full() {
		t.Error("what is larger than the shelf was not kept alone")
	}
	var none *Shelf
	i := none.Item()
	i.Put(1, 1<<60)
	if i.Value() != 1 || none.Full() || none.Bytes() != 0 {
		t.Error("no shelf does not keep everything")
	}
}
