package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// notRun are the commands of the documents that no script runs, with the
// reason.
var notRun = map[string]string{
	"go test ./...":                      "would run this test again",
	"bash .ci/run":                       "would run this test again",
	"git tag v0.0.0":                     "would mark a release",
	"go generate ./rules":                "would write into the repository; the check mode of cmd/rulebook is a test",
	"go test ./rules/report/... -update": "would rewrite the goldens",
	"go test ./cmd/... -update":          "would run this test again",
	"go test -run '^$' -bench . ./cmd/busgauss/internal/cli":                              "takes a minute; TestBenchmarkLayouts checks what they run",
	"go test ./cmd/busgauss/internal/cli -run TestBenchFile -bench-file -timeout 0":       "takes minutes and writes a file that TestBenchFile checks the rows of",
	"go test ./cmd/busgauss/internal/cli -run TestHostileFile -long -update -timeout 0":   "takes minutes and writes a file that TestHostileFile checks the rows of",
	"go test ./cmd/busgauss/internal/cli -run TestGate -update":                           "would rewrite the table; TestGate holds it to what the ways give",
	"go test ./model/space/iron -run TestCalibration/rings -calibrate -timeout 0 -update": "takes minutes and rewrites a row of the table of references",
	"go run ./cmd/unfused": "would write into the sources; the check mode is a step of .ci/run",
	"go test -run '^$' -fuzz FuzzLoad -fuzztime 60s ./schema/load":           "takes a minute; the seeds run with the tests of the package",
	"go test -run 'FuzzLoad/NAME' ./schema/load":                             "NAME stands for a crasher",
	"bash .ci/release 0.0.0 dist":                                            "compiles everything for five systems; .ci/run builds one of them twice",
	"go run ./cmd/notices":                                                   "would write into the repository; the check mode is a test",
	"go test ./rules/laws -run TestLaws -layouts 1000 -seed 7 -timeout 0 -v": "takes many minutes; a few layouts run with the tests of the package",
	"go test ./rules/laws -run TestLaws -layouts 1 -seed 7 -from 412 -v":     "one layout of the command above",
	"go test ./rules -run TestCases -update":                                 "would rewrite the cases",
	"go test ./rules/compare ./rules/report/... -update":                     "would rewrite the goldens",
	"go test ./model/probe ./model/space/iron -update":                       "would rewrite the tables of references",
	"busgauss mend LAYOUT...":                                                "a form, not a command",
	"busgauss check LAYOUT...":                                               "a form, not a command",
	"busgauss field LAYOUT":                                                  "a form, not a command",
	"busgauss coupling LAYOUT":                                               "a form, not a command",
	"busgauss rules [RULE]":                                                  "a form, not a command",
	"busgauss compare BASE [HEAD]":                                           "a form, not a command",
	"busgauss standard show [LAYOUT]":                                        "a form, not a command",
	"busgauss init [FOLDER]":                                                 "a form, not a command",
	"busgauss baseline LAYOUT...":                                            "a form, not a command",
	"busgauss merge PART...":                                                 "a form, not a command",
	"busgauss report LAYOUT...":                                              "a form, not a command",
}

var (
	// indented is a line of a document that is shown as code.
	indented = regexp.MustCompile(`(?m)^(?:    |       )((?:[A-Z_]+=\S+ )?(?:go|bash|busgauss|git) .*)$`)
	inline   = regexp.MustCompile("`((?:[A-Z_]+=\\S+ )?(?:go|bash|busgauss|git) [^`]+)`")
	ran      = regexp.MustCompile(`(?m)^(?:exits \d+|exec) (.*)$`)
)

// TestDocumentedCommandsRun wants every command of README.md and DEVELOPERS.md
// in a script, or in the list of those that cannot be run with its reason.
func TestDocumentedCommandsRun(t *testing.T) {
	scripts, err := filepath.Glob("testdata/script/*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	run := map[string]bool{}
	for _, name := range scripts {
		for _, m := range ran.FindAllStringSubmatch(read(t, ".", name), -1) {
			run[strings.ReplaceAll(m[1], "$WORK/", "")] = true
		}
	}
	unused := map[string]bool{}
	for command := range notRun {
		unused[command] = true
	}
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile(filepath.Join("../../../..", name))
		if err != nil {
			t.Fatal(err)
		}
		found := indented.FindAllStringSubmatch(string(text), -1)
		found = append(found, inline.FindAllStringSubmatch(string(text), -1)...)
		if len(found) < 5 {
			t.Errorf("%s: %d commands found", name, len(found))
		}
		for _, m := range found {
			// The scripts run the same program under its own name.
			command := strings.Replace(strings.TrimSpace(m[1]), "go run ./cmd/busgauss", "busgauss", 1)
			delete(unused, command)
			if notRun[command] == "" && !run[command] {
				t.Errorf("%s: no script runs %q", name, command)
			}
		}
	}
	for command := range unused {
		t.Errorf("%q is excused and stands in no document", command)
	}
}
