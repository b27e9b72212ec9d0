package compare

import (
	"os"
	"reflect"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/layout"
	"busgauss/schema/load"
)

// TestEveryFieldIsSeen walks the type of a layout and wants no field of a kind
// that leaves cannot read, and no two in one struct of the same words.
func TestEveryFieldIsSeen(t *testing.T) {
	seen := map[reflect.Type]bool{}
	var walk func(at string, typ reflect.Type)
	walk = func(at string, typ reflect.Type) {
		if seen[typ] {
			return
		}
		seen[typ] = true
		switch typ.Kind() {
		case reflect.Struct:
			words := map[string]string{}
			for i := range typ.NumField() {
				if name := typ.Field(i).Name; !isSpan(typ.Field(i).Type) && !typ.Field(i).Anonymous && !strings.HasSuffix(name, "Set") {
					if word, _ := wordsOf(name); words[word] != "" {
						t.Errorf("%s: %s and %s are both %q", at, words[word], name, word)
					} else {
						words[word] = name
					}
				}
				if !typ.Field(i).IsExported() {
					t.Errorf("%s.%s cannot be read from outside", at, typ.Field(i).Name)
					continue
				}
				walk(at+"."+typ.Field(i).Name, typ.Field(i).Type)
			}
		case reflect.Slice, reflect.Array, reflect.Pointer:
			walk(at, typ.Elem())
		case reflect.String, reflect.Bool, reflect.Float64, reflect.Int, reflect.Uint8:
		default:
			t.Errorf("%s is a %s, which leaves cannot read", at, typ.Kind())
		}
	}
	walk("Layout", reflect.TypeFor[layout.Layout]())
	if len(seen) < 30 {
		t.Errorf("%d types only", len(seen))
	}
}

// TestFixturesDoNotDiffer reads every fixture twice, once behind a comment, and
// wants no change; and more than a few values in each.
func TestFixturesDoNotDiffer(t *testing.T) {
	names, err := fixtures.Layouts()
	if err != nil || len(names) < 20 {
		t.Fatalf("%d layouts, %v", len(names), err)
	}
	texts := map[string][]byte{}
	for _, name := range names {
		if texts[name], err = fixtures.FS.ReadFile(name); err != nil {
			t.Fatal(err)
		}
	}
	if texts["full.yaml"], err = os.ReadFile("../../schema/load/testdata/full.yaml"); err != nil {
		t.Fatal(err)
	}
	for name, text := range texts {
		a, _ := load.Load("a.yaml", text)
		if a == nil {
			continue // one that is there to be wrong
		}
		if !strings.HasSuffix(name, ".json") {
			text = append([]byte("# a comment\n\n"), text...)
		}
		b, problems := load.Load("b.yaml", text)
		if b == nil {
			t.Fatal(name, problems)
		}
		if changes, renamed := Changes(a, b); len(changes) > 0 || len(renamed) > 0 {
			t.Errorf("%s: %v, %v", name, changes, renamed)
		}
		if n := len((flattener{l: a}).leaves(reflect.ValueOf(*a), "", "")); n < 10 {
			t.Errorf("%s: %d values", name, n)
		}
	}
}
