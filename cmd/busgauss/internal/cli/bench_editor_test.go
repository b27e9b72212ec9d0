package cli

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"busgauss/fixtures"
)

// BenchmarkEditorKey is the time from a key to the findings of the text with it, on the clock and of the processors
// (client and server), in a session that is warm: those that take no solution of a field, and, of a layout with shields, the whole from the end of the pause
// on. A key in the title solves nothing anew; one in a place does. Budgets: 50 ms for a bare layout, 1 s from the
// pause for a shielded one.
func BenchmarkEditorKey(b *testing.B) {
	shielded, err := fixtures.FS.ReadFile("clean/ferry-channels.yaml")
	if err != nil {
		b.Fatal(err)
	}
	winch, err := fixtures.FS.ReadFile("failing/winch-channels.yaml")
	if err != nil {
		b.Fatal(err)
	}
	title := func(text string, n int) string {
		return strings.Replace(text, "title: ", fmt.Sprintf("title: %d ", n), 1)
	}
	for _, k := range []struct {
		name, text string
		key        func(text string, n int) string
		answers    int // of which the last one counts
		all        int // that come
	}{
		{"bare/title", bare(0), title, 1, 2},
		{"bare/place", bare(0), func(text string, n int) string {
			return strings.Replace(text, "axis: 180 deg", fmt.Sprintf("axis: %.3f deg", 180+float64(n%1000)*0.001), 1)
		}, 1, 2},
		{"shielded/at-once", string(shielded), title, 1, 3},
		{"shielded/title", string(shielded), title, 2, 3},
		{"shielded/place", string(shielded), func(text string, n int) string {
			return strings.Replace(text, "at: [0 mm, -3 mm]", fmt.Sprintf("at: [%.3f mm, -3 mm]", float64(n%1000)*0.001), 1)
		}, 2, 3},
		{"failing/current", string(winch), func(text string, n int) string {
			return strings.ReplaceAll(text, "420 A", fmt.Sprintf("%d.5 A", 400+n%20))
		}, 2, 3},
		{"failing/remedies", string(winch), func(text string, n int) string {
			return strings.ReplaceAll(text, "420 A", fmt.Sprintf("%d.5 A", 400+n%20))
		}, 3, 3},
	} {
		b.Run(k.name, func(b *testing.B) {
			dir := b.TempDir()
			file := filepath.Join(dir, "a.yaml")
			c := startEditor(b, dir, nil)
			c.open(file, k.text)
			version := 1
			wait := func(n int) {
				c.until(file, func(*published) bool {
					c.mu.Lock()
					defer c.mu.Unlock()
					seen := 0
					for _, p := range c.found[uri(file)] {
						if p.Version != nil && *p.Version == version {
							seen++
						}
					}
					return seen >= n
				})
			}
			wait(k.all)
			spent, cpu := time.Duration(0), time.Duration(0)
			for b.Loop() {
				version++
				begun, used := time.Now(), spentCPU()
				c.replaces(file, version, k.key(k.text, version))
				wait(k.answers)
				took := time.Since(begun)
				cpu += spentCPU() - used
				if k.answers > 1 {
					took -= editorPause
				}
				wait(k.all) // so that nothing runs beside the next key
				spent += took
			}
			b.ReportMetric(float64(cpu.Microseconds())/1e3/float64(b.N), "cpu-ms/key")
			b.ReportMetric(float64(spent.Microseconds())/1e3/float64(b.N), "ms/key")
			c.leave()
		})
	}
}
