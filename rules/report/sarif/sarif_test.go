package sarif

import (
	"flag"
	"testing"

	"busgauss/fixtures"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

func TestGolden(t *testing.T) {
	for name, got := range map[string][]byte{
		"findings": written(t, thruster(), Options{ExitCode: 1}),
		"audit":    written(t, judged(), Options{ExitCode: 1, Audit: true}),
		"clean":    written(t, clean(), Options{Category: "nightly"}),
	} {
		t.Run(name, func(t *testing.T) {
			fixtures.Golden(t, name+".sarif", got)
		})
	}
}
