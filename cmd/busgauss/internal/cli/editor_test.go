package cli

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

func TestTry(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "drive.yaml")
	c := edit(t, dir, nil)
	text := bare(0)
	c.open(file, text)
	p := c.until(file, func(p *published) bool { return true })
	fmt.Println(p.codes())
	c.replaces(file, 2, strings.Replace(text, "25 mT", "9 mT", 1))
	p = c.until(file, func(p *published) bool {
		return *p.Version == 2 && len(p.Diagnostics) > 0 && strings.Contains(p.Diagnostics[0].Message, "try")
	})
	fmt.Println(p.Diagnostics[0].Message, p.codes())
	c.replaces(file, 3, strings.Replace(text, "reads: U", "reads: ", 1))
	for _, q := range [][2]int{{7, 14}, {6, 0}, {7, 7}, {12, 20}, {13, 20}} {
		var r json.RawMessage
		c.call("textDocument/completion", at(file, q[0], q[1]), &r)
		fmt.Println(q, string(r)[:min(len(r), 1500)])
	}
	c.replaces(file, 4, text)
	for _, q := range [][2]int{{7, 3}, {3, 3}, {7, 14}, {7, 8}, {7, 22}} {
		for _, m := range []string{"hover", "definition", "references"} {
			var r json.RawMessage
			c.call("textDocument/"+m, at(file, q[0], q[1]), &r)
			fmt.Println(q, m, string(r)[:min(len(r), 1500)])
		}
	}
	var r json.RawMessage
	c.call("textDocument/inlayHint", map[string]any{"textDocument": map[string]any{"uri": uri(file)}, "range": map[string]any{"start": place{0, 0}, "end": place{100, 0}}}, &r)
	fmt.Println(string(r))
	c.leave()
}
