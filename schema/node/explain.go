package node

import (
	"bytes"
	"strconv"
	"strings"
)

func itoa(n int) string { return strconv.Itoa(n) }

// explain says in plain words why the library refuses a line.
// rest is the part of the line from the word at fault on.
func explain(why string, line, rest []byte) (message, remedy string) {
	has := func(part string) bool { return strings.Contains(why, part) }
	switch {
	case colonGlued.Match(line) && (has("could not find expected ':'") || has("mapping values") || has("did not find expected key")):
		return "a colon without a space behind it does not end a key", "put a space behind the colon"
	case has("could not find expected ':'"):
		return "a line without a colon where a key is expected", "write key: value, or indent the line if it goes on with the text above"
	case has("mapping values are not allowed"):
		return "a colon where no key can stand", "put the text in quotes, or check the indentation"
	case has("block sequence entries are not allowed"):
		return "a list entry where none can stand", "put the list on lines of its own"
	case has("did not find expected '-' indicator"):
		return "a line in a list does not begin with a hyphen", "check the indentation"
	case has("did not find expected key"):
		return "the line does not fit the indentation or follows a value that had already ended", "check the indentation and what stands behind quotes and brackets"
	case has("did not find expected ','"):
		return "a comma or a closing bracket is missing here or at the end of the line before", "add the comma or the bracket"
	case has("did not find expected node content"):
		return "a value is missing between commas or brackets", "add the value or remove the comma"
	case has("did not find expected <document start>"):
		return "text behind the end of the document", "remove it, or check brackets and quotes further up"
	case has("cannot start any token"):
		if i := bytes.IndexAny(rest, "@`%|>"); i >= 0 && i < 2 {
			return "a text cannot begin with " + quote(string(rest[i])), "put the text in quotes"
		}
		return "a character that cannot begin a text", "put the text in quotes"
	case has("unknown escape"):
		return "unknown escape in a text in double quotes", `write \\ for a backslash, or use single quotes`
	case has("hexdecimal"):
		return "an escape in double quotes lacks hexadecimal digits", `write \xXX, \uXXXX or \UXXXXXXXX`
	case has("Unicode character escape"):
		return "an escape that stands for no character", "write the character itself"
	case has("undefined tag handle"):
		return "unknown tag", "remove the tag"
	case has("unexpected end of stream"):
		return "the file ends inside a text in quotes", "add the closing quote"
	}
	return "not valid YAML: " + shorten(why), "correct the line"
}
