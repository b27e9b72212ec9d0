package cli

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"busgauss/fixtures"
)

// BenchmarkStored is a whole check as a process of its own, its start included, without a store ("cold"), with an empty one that
// is filled ("first") and with what an earlier run found ("warm"), or found before the title was another ("changed"): of channels of iron, of short channels that saturate and fail,
// of circuits, and of a hundred bare layouts. cpu-ms is its processor time. Budget of one layout that is
// warm: 60 ms, aim 30 ms.
func BenchmarkStored(b *testing.B) {
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	program := filepath.Join(b.TempDir(), "busgauss") // which this binary then is: see TestMain
	if err := os.Symlink(self, program); err != nil {
		b.Skipf("no symbolic links: %v", err)
	}
	dir := b.TempDir()
	if err := os.CopyFS(dir, fixtures.FS); err != nil {
		b.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "hundred"), 0o755); err != nil {
		b.Fatal(err)
	}
	for n := range 100 {
		write(b, filepath.Join(dir, "hundred", fmt.Sprintf("drive-%02d.yaml", n)), bare(n))
	}
	run := func(b *testing.B, args ...string) time.Duration {
		c := exec.Command(program, append([]string{"check", "--fail-level", "none", "--quiet"}, args...)...)
		c.Dir = dir
		if said, err := c.CombinedOutput(); err != nil {
			b.Fatalf("%v\n%s", err, said)
		}
		return c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	}
	for _, name := range []string{"clean/ferry-channels.yaml", "failing/container-short-channels.yaml", "examples/circuits.yaml", "hundred"} {
		store := filepath.Join(b.TempDir(), "store")
		for _, kind := range []string{"cold", "first", "warm", "changed"} {
			b.Run(filepath.Base(name)+"/"+kind, func(b *testing.B) {
				var spent time.Duration
				if kind == "warm" || kind == "changed" {
					run(b, "--store", store, name)
				}
				if kind == "changed" && filepath.Ext(name) == "" {
					b.Skip("one layout of them is as good")
				}
				for n := 0; b.Loop(); n++ {
					args := []string{"--store", store, name}
					switch kind {
					case "cold":
						args = []string{"--no-store", name}
					case "changed": // a title that was not there before
						b.StopTimer()
						text := read(b, dir, name)
						write(b, filepath.Join(dir, name), strings.Replace(text, "\ntitle: ", fmt.Sprintf("\ntitle: %d ", n), 1))
						b.StartTimer()
					case "first":
						b.StopTimer()
						if err := os.RemoveAll(store); err != nil {
							b.Fatal(err)
						}
						b.StartTimer()
					}
					spent += run(b, args...)
				}
				b.ReportMetric(float64(spent.Microseconds())/1000/float64(b.N), "cpu-ms")
			})
		}
	}
}
