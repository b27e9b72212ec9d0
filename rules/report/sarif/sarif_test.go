package sarif

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func TestGolden(t *testing.T) {
	for name, got := range map[string][]byte{
		"findings": written(t, thruster(), Options{ExitCode: 1}),
		"audit":    written(t, judged(), Options{ExitCode: 1, Audit: true}),
		"clean":    written(t, clean(), Options{Category: "nightly"}),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join("testdata", name+".sarif")
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}
