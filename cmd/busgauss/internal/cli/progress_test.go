package cli

import (
	"bytes"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// The line appears after a second, counts, and is wiped; short work shows nothing.
func TestProgress(t *testing.T) {
	for _, c := range []struct {
		name string
		work time.Duration
		want string
	}{
		{"short", 500 * time.Millisecond, ""},
		{"long", 1500 * time.Millisecond, "\rbusgauss: 2 of 3 layouts checked\r" + strings.Repeat(" ", 60) + "\r"},
	} {
		synctest.Test(t, func(t *testing.T) {
			var out bytes.Buffer
			p := startProgress(&out, 3)
			p.add()
			p.add()
			time.Sleep(c.work)
			p.end()
			if out.String() != c.want {
				t.Errorf("%s: wrote %q, want %q", c.name, out.String(), c.want)
			}
		})
	}
	p := startProgress(nil, 3)
	p.add()
	p.end()
}
