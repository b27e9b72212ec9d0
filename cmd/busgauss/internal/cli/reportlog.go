package cli

import (
	"bytes"
	"io"
	"regexp"
)

// hostCommand finds what a build host takes for a command wherever it stands in a line: see finding.Line.
var hostCommand = regexp.MustCompile(`##([0-9A-Za-z]*\[)`)

// lineCommand finds what it takes for one at the start of a line.
var lineCommand = regexp.MustCompile(`(?m)^(\s*)::`)

// forLog returns print with what a host would take for a command written otherwise, as a page that goes to standard output may
// stand in a log. It reads the same: in HTML by character references, in its data by escapes of JSON.
func forLog(format string, print func(io.Writer) error) func(io.Writer) error {
	return func(w io.Writer) error {
		var text bytes.Buffer
		if err := print(&text); err != nil {
			return err
		}
		out := text.Bytes()
		switch format {
		case "html":
			out = htmlForLog(out)
		case "markdown":
			out = hostCommand.ReplaceAll(out, []byte(`#\#$1`))
			out = lineCommand.ReplaceAll(out, []byte(`$1\::`))
		}
		_, err := w.Write(out)
		return err
	}
}

// htmlForLog is forLog of a page, whose only scripts are its own and its data.
func htmlForLog(page []byte) []byte {
	var out []byte
	for len(page) > 0 {
		text, rest, script := bytes.Cut(page, []byte("<script"))
		text = hostCommand.ReplaceAll(text, []byte("#&#35;$1"))
		out = append(out, lineCommand.ReplaceAll(text, []byte("$1&#58;:"))...)
		if !script {
			break
		}
		body, rest, _ := bytes.Cut(rest, []byte("</script>"))
		out = append(append(out, "<script"...), hostCommand.ReplaceAll(body, []byte(`#\u0023$1`))...)
		out = append(out, "</script>"...)
		page = rest
	}
	return out
}
