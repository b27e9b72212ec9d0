package load

import (
	"encoding/binary"
	"strings"
	"testing"
	"unicode/utf16"
)

func wide(order binary.AppendByteOrder, text string, mark bool) string {
	if mark {
		text = "\ufeff" + text
	}
	var out []byte
	for _, u := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, u)
	}
	return string(out)
}

// The ways to write a key are those of YAML 1.2.2: explicit keys (8.2.2), anchors and tags (6.9), escapes (5.7), line breaks
// (5.4), encodings (5.2), documents (9.1); << is that of the working draft on merge keys.
func TestRecognize(t *testing.T) {
	rest := "\nbars: {}\nsensors: {}\n"
	for _, c := range []struct {
		name, text string
		want       bool
	}{
		{"plain", "layout: 1" + rest, true},
		{"one key alone", "title: x\nduties: {}\n", true},
		{"indented", " layout: 1\n bars: {}\n", true},
		{"behind a marker", "--- {layout: 1}\n", true},
		{"on the line of the marker", "---\n layout: 1\n", true},
		{"explicit key", "? layout\n: 1\n", true},
		{"anchor", "&a layout: 1\n", true},
		{"tag", "!!str layout: 1\n", true},
		{"escape", `"\x6cayout": 1`, true},
		{"long escape", `"\U0000006cayout": 1`, true},
		{"escaped line break", "? \"lay\\\n  out\"\n: 1", true},
		{"lone carriage returns", "title: x\rlayout: 1\r", true},
		{"byte order mark", "\ufefflayout: 1\n", true},
		{"byte order mark and blank", "\ufeff layout: 1\n", true},
		{"UTF-16 with a mark", wide(binary.LittleEndian, "layout: 1\n", true), true},
		{"UTF-16 with a mark, big end first", wide(binary.BigEndian, "layout: 1\n", true), true},
		{"UTF-16 without a mark", wide(binary.LittleEndian, "layout: 1\n", false), true},
		{"UTF-16 without a mark, big end first", wide(binary.BigEndian, "layout: 1\n", false), true},
		{"in braces", "{title: x, layout: 1}", true},
		{"in braces over lines", "{\n  title: x,\n  'layout': 1\n}", true},
		{"JSON", `{"title": "x", "layout": 1}`, true},
		{"merged", "x: &x {layout: 1}\n<<: *x\n", true},
		{"merged in a list", "x: &x {layout: 1}\n<<: [{}, *x]\n", true},
		{"key by alias", "x: &x layout\n*x : 1\n", true},
		{"second document", "title: x\n---\nlayout: 1\n", true},
		{"directive", "%YAML 1.2\n---\n layout: 1\n", true},
		{"list", "- layout: 1\n  bars: {}\n", true},
		{"behind many documents", strings.Repeat("--- a\n", 1001) + "---\n layout: 1\n bars: {}\n", true},
		{"behind many items of a list", strings.Repeat("- a\n", 1001) + "- layout: 1\n  bars: {}\n", true},
		{"merged behind many", " x: &x {layout: 1, bars: {}}\n <<: [" + strings.Repeat("{},", 1001) + "*x]\n", true},
		{"merged deeper than is followed", " a: &a {<<: {<<: {<<: {<<: {<<: {layout: 1, bars: {}}}}}}}\n <<: *a\n", true},
		{"cannot be read, behind many nested keys", "title: [x\n" + strings.Repeat("   bars: 1\n", 1001) + "  layout: 1\n", true},
		{"many documents of others", strings.Repeat("---\na:\n  layout: portrait\n", 1001), false},
		{"cannot be read, a tab", " layout: 1\n\tbars: {}\n", true},
		{"cannot be read, a bracket", " title: [x\n layout: 1\n", true},
		{"cannot be read, an escape", " \"\\x6cayout\": 1\n title: [x\n", true},
		{"cannot be read behind", "title: x\n---\n bars: {}\n---\n]", true},

		{"empty", "", false},
		{"nothing of ours", "name: x\nsteps: []\n", false},
		{"deeper", "page:\n  layout: wide\n  x: 1\n", false},
		{"deeper in braces", `{"page": {"layout": "wide", "bars": 1}}`, false},
		{"a value", "kind: layout\n", false},
		{"in a block of text", "text: |\n  layout: 1\n", false},
		{"in a comment", "# layout: 1\nx: 1\n", false},
		{"one key in a list", "- sensors: x\n", false},
		{"cannot be read, one key deeper", "{{ if x }}\npage:\n  layout: wide\n", false},
		{"cannot be read, nothing of ours", "x: [\n", false},
	} {
		if got := Recognize([]byte(c.text)); got != c.want {
			t.Errorf("%s: %t, want %t", c.name, got, c.want)
		}
	}
}
