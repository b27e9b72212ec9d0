package cli

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestColumnsOf(t *testing.T) {
	for _, c := range []struct {
		name     string
		terminal bool
		width    int
		env      map[string]string
		want     int
	}{
		{"a pipe", false, 100, nil, 0},
		{"a terminal", true, 100, nil, 100},
		{"one that does not say", true, 0, nil, usualWidth},
		{"the user says", true, 100, map[string]string{"COLUMNS": "72"}, 72},
		{"the user says nothing sensible", true, 100, map[string]string{"COLUMNS": "wide"}, 100},
		{"a dumb one", true, 100, map[string]string{"TERM": "dumb"}, 0},
		{"a build host", true, 100, map[string]string{"CI": "true"}, 0},
		{"a pipe of known width", false, 0, map[string]string{"COLUMNS": "72"}, 0},
	} {
		s := &Streams{OutIsTerminal: c.terminal, OutWidth: c.width, Env: func(k string) string { return c.env[k] }}
		if got := columnsOf(s); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// The same run shows the line of the file on a terminal and one line a finding in a pipe.
func TestCheckOnATerminal(t *testing.T) {
	dir := t.TempDir()
	const layout = "layout: 1\nbars: {A: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: coper}}\n"
	if err := os.WriteFile(filepath.Join(dir, "a.yaml"), []byte(layout), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, terminal := range []bool{true, false} {
		var out bytes.Buffer
		s := Streams{In: strings.NewReader(""), Out: &out, Err: io.Discard, OutIsTerminal: terminal, OutWidth: 90,
			Env: func(string) string { return "" }, Dir: dir}
		if status := Main([]string{"check", "--no-store", "--color", "never", "a.yaml"}, s); status != statusFindings {
			t.Fatalf("status %d: %s", status, &out)
		}
		if marked := strings.Contains(out.String(), "^^^^^\n"); marked != terminal {
			t.Errorf("terminal %v:\n%s", terminal, &out)
		}
	}
}
