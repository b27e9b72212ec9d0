package node

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// The document and the pointers of RFC 6901, section 5.
func TestAtFollowsRFC6901(t *testing.T) {
	n := mustParse(t, `{
      "foo": ["bar", "baz"],
      "": 0,
      "a/b": 1,
      "c%d": 2,
      "e^f": 3,
      "g|h": 4,
      "i\\j": 5,
      "k\"l": 6,
      " ": 7,
      "m~n": 8
   }`)
	for _, c := range []struct {
		pointer string
		want    any
		key     string
	}{
		{"/foo", []any{"bar", "baz"}, "2:7-2:12"},
		{"/foo/0", "bar", "0:0-0:0"},
		{"/", 0.0, "3:7-3:9"},
		{"/a~1b", 1.0, "4:7-4:12"},
		{"/c%d", 2.0, "5:7-5:12"},
		{"/e^f", 3.0, "6:7-6:12"},
		{"/g|h", 4.0, "7:7-7:12"},
		{"/i\\j", 5.0, "8:7-8:13"},
		{"/k\"l", 6.0, "9:7-9:13"},
		{"/ ", 7.0, "10:7-10:10"},
		{"/m~0n", 8.0, "11:7-11:12"},
	} {
		got, key, ok := n.At(c.pointer)
		if !ok || !reflect.DeepEqual(got.Value(), c.want) || place(key) != c.key {
			t.Errorf("At(%q) = %#v %s %v, want %#v %s", c.pointer, got.Value(), place(key), ok, c.want, c.key)
		}
	}
	if root, key, ok := n.At(""); root != n || key != (span.Span{}) || !ok {
		t.Error("the empty pointer is not the root")
	}
	for _, p := range []string{"foo", "/foo/2", "/foo/-", "/foo/01", "/foo/-1", "/foo/+1", "/foo/0/x", "/nothing", "/foo/"} {
		if got, _, ok := n.At(p); ok || got != nil {
			t.Errorf("At(%q) leads to %+v", p, got)
		}
	}
	if _, _, ok := (*Node)(nil).At(""); ok {
		t.Error("a missing node has a root")
	}
}

func TestAtUnescapesInOrder(t *testing.T) {
	// RFC 6901, section 4: ~01 is ~1, not a slash.
	n := mustParse(t, "\"~1\": 1\n\"/\": 2\n")
	if got, _, _ := n.At("/~01"); got.Text != "1" {
		t.Errorf("got %+v", got)
	}
}

func TestValue(t *testing.T) {
	n, _ := Parse("f.yaml", []byte("a: {b: [1, x, true, null, '5', 3mm]}\nc: 010\nd: 1e400\ne:\n"), Limits{})
	want := map[string]any{
		"a": map[string]any{"b": []any{1.0, "x", true, nil, "5", "3mm"}},
		"c": "010", "d": "1e400", "e": nil,
	}
	if got := n.Value(); !reflect.DeepEqual(got, want) {
		t.Errorf("got %#v", got)
	}
	if (*Node)(nil).Value() != nil {
		t.Error("a missing node has a value")
	}
	// A number that did not come from Parse never becomes infinite.
	if got := (&Node{Kind: Number, Text: "1e999"}).Value(); got != "1e999" {
		t.Errorf("got %#v", got)
	}
}

func TestGetAndMember(t *testing.T) {
	n := mustParse(t, "a: 1\nb:\n")
	if n.Get("a").Text != "1" || n.Get("b").Kind != Null || n.Get("c") != nil || n.Get("a").Get("x") != nil || n.Get("c").Get("x") != nil {
		t.Error("Get")
	}
	if m, ok := n.Member("b"); !ok || m.Key != "b" || m.Value != n.Get("b") {
		t.Errorf("Member = %+v", m)
	}
	if _, ok := n.Member("c"); ok {
		t.Error("found a key that is not there")
	}
	// The index of a large map does not outlive a change of its members.
	var text strings.Builder
	for _, c := range "abcdefghijklmnopqrst" {
		text.WriteString(string(c) + ": 1\n")
	}
	n = mustParse(t, text.String())
	n.Members = slices.Delete(n.Members, 0, 1)
	if n.Get("a") != nil || n.Get("t") == nil || n.Get("t").Span.Start.Line != 20 {
		t.Error("stale index")
	}
}

func TestProblemsDescribeEveryRule(t *testing.T) {
	var ids []string
	for _, d := range Problems() {
		ids = append(ids, d.ID)
		for _, s := range []string{d.Title, d.Full, d.Help} {
			if s == "" || s != finding.Clean(s) {
				t.Errorf("%s: text %q", d.ID, s)
			}
		}
		if d.Level != finding.Error || strings.HasSuffix(d.Title, ".") || strings.ToLower(d.Title[:1]) != d.Title[:1] {
			t.Errorf("%s: %+v", d.ID, d)
		}
	}
	want := []string{fileDocuments, fileEncoding, fileLimits, fileSyntax, keyDuplicate, keyForm, valueForm}
	if !slices.Equal(ids, want) || !slices.IsSorted(ids) {
		t.Errorf("got %v", ids)
	}
}
