package cli

import (
	"bytes"
	"encoding/json"
	"html"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
)

// Every format says each finding with the same first sentence.
func TestFormatsShareFirstSentences(t *testing.T) {
	dir, cache := t.TempDir(), t.TempDir()
	data, err := fixtures.FS.ReadFile("examples/three-bars.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "a.yaml"), data, 0o600); err != nil {
		t.Fatal(err)
	}
	printed := func(format string) string {
		var out bytes.Buffer
		s := Streams{In: strings.NewReader(""), Out: &out, Err: io.Discard, Env: func(string) string { return "" }, Dir: dir, Cache: cache}
		if status := Main([]string{"check", "--format", format, "a.yaml"}, s); status != statusFindings {
			t.Fatalf("%s: status %d: %s", format, status, &out)
		}
		return out.String()
	}
	var report struct {
		Findings []struct{ Message string }
	}
	if err := json.Unmarshal([]byte(printed("json")), &report); err != nil {
		t.Fatal(err)
	}
	if len(report.Findings) < 5 {
		t.Fatalf("%d findings", len(report.Findings))
	}
	for _, format := range checkFormats {
		// What the formats escape is written plain.
		got := html.UnescapeString(strings.NewReplacer(`\"`, `"`, "%25", "%", `\u0026`, "&").Replace(printed(format)))
		for _, f := range report.Findings {
			if first, _ := finding.Sentences(f.Message); !strings.Contains(got, first) {
				t.Errorf("%s lacks %s", format, first)
			}
		}
	}
}
