package page

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"busgauss/rules/audit"
)

// The most letters of the two ends of a running head.
const (
	mostTitle = 62
	mostFile  = 44
)

// runningHead returns the rules of style for what stands above and below each printed page: title and
// file, who made it, and the number of the page.
//
// Source: W3C, CSS Paged Media Module Level 3, sections 5 (margin boxes) and 4.4 (page counters).
func runningHead(c *audit.Cover) string {
	title := c.Title
	if title == "" {
		title = "Audit of current-sensing layouts"
	}
	foot := c.Tool
	for _, more := range []string{c.Drawing, c.Date} {
		if more != "" {
			foot += ", " + more
		}
	}
	const look = "font:7.5pt system-ui,'Liberation Sans','DejaVu Sans',sans-serif;color:#595959"
	box := func(name, content string) string { return "@" + name + "{content:" + content + ";" + look + "}" }
	return "@page{margin:17mm 14mm 16mm;" + box("top-left", cssText(clipEnd(title, mostTitle))) +
		box("top-right", cssText(clipStart(c.Path, mostFile))) + box("bottom-left", cssText(clipEnd(foot, mostTitle))) +
		box("bottom-right", `"page " counter(page) " of " counter(pages)`) + "}\n"
}

// cssText returns text as a string of CSS in which every sign that could end it is an escape.
func cssText(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == ' ', r == '.', r == ',', r == '-':
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\%x `, r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

func clipEnd(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

func clipStart(text string, most int) string {
	r := []rune(text)
	if len(r) <= most {
		return text
	}
	return "…" + string(r[len(r)-most+1:])
}
