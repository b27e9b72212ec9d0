package schema

import (
	"net/url"
	"strconv"
	"strings"
)

// schemaPointer returns the JSON pointer of the schema object that holds the
// keyword at location, such as "/definitions/bar" for
// "urn:x#/definitions/bar/required".
func schemaPointer(location string) string {
	_, fragment, _ := strings.Cut(location, "#")
	cut := strings.LastIndexByte(fragment, '/')
	if cut < 0 {
		return ""
	}
	pointer, err := url.PathUnescape(fragment[:cut])
	if err != nil {
		return fragment[:cut]
	}
	return pointer
}

// lookUp returns the value at a JSON pointer (RFC 6901) below value.
func lookUp(value any, pointer string) (any, bool) {
	for pointer != "" {
		token := pointer[1:]
		pointer = ""
		if cut := strings.IndexByte(token, '/'); cut >= 0 {
			token, pointer = token[:cut], token[cut:]
		}
		token = strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~")
		switch v := value.(type) {
		case map[string]any:
			next, ok := v[token]
			if !ok {
				return nil, false
			}
			value = next
		case []any:
			i, err := strconv.Atoi(token)
			if err != nil || i < 0 || i >= len(v) {
				return nil, false
			}
			value = v[i]
		default:
			return nil, false
		}
	}
	return value, true
}

func objectAt(value any, pointer string) map[string]any {
	v, _ := lookUp(value, pointer)
	object, _ := v.(map[string]any)
	return object
}
