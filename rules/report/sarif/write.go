// Package sarif writes the outcome of a run in the Static Analysis Results
// Interchange Format, version 2.1.0, as code hosts accept it.
//
// By default the file holds failures and undecided verdicts only: hosts ignore the
// kind of a result and would show a pass as an alert. It has no rank (one host takes it
// for the severity), no security severity (it would turn a result into a
// security alert), no time, no identifier that differs from run to run and no
// absolute path.
package sarif

import (
	"fmt"
	"io"
	"sort"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Options says what only the caller knows. The zero value is usable.
type Options struct {
	// ExitCode is the status the program will end with; 0 and 1 are a run that
	// did its work.
	ExitCode int

	// Category tells several reports on one revision apart. Default: the name of
	// the tool. A slash is added at its end when there is none: what follows the
	// last slash would be the name of a single run (section 3.17.3).
	Category string

	// Audit writes all that was judged: passed, permitted (with who permits it and
	// until when), undecided and absent results too, each with its kind, and as
	// many as there are. It is for records. Hosts of code ignore kinds and
	// suppressions and would show a pass as an alert. Default: failures and
	// undecided verdicts alone, in the form that hosts show.
	Audit bool
}

// maxResults is how many results hosts show of one run.
const maxResults = 5000

// schemaURI is where the standard publishes its schema.
const schemaURI = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"

// Write writes r to w and returns the first error. A finding that is neither
// a failure nor undecided is an error before anything is written.
func Write(w io.Writer, r *report.Result, o Options) error {
	for i := range r.Findings {
		if v := r.Findings[i].Verdict; v != finding.Fail && v != finding.Undecided {
			return fmt.Errorf("write SARIF: finding of rule %q has the verdict %q", r.Findings[i].Rule, v)
		}
	}
	files, states := newFiles(r.Files), newStates(r.Baseline)
	var written []result
	var catalogue catalogue
	leftOut := 0
	if o.Audit {
		written, catalogue = audited(r, files, states)
	} else {
		kept := mostSevere(r.Findings)
		catalogue = newCatalogue(r.Rules, kept, r.Tool.InformationURI)
		written = results(kept, catalogue, files, states)
		leftOut = len(r.Findings) - len(kept)
	}
	category := o.Category
	if category == "" {
		category = r.Tool.Name
	}
	if !strings.HasSuffix(category, "/") {
		category += "/"
	}
	return report.EncodeJSON(w, log{
		Schema:  schemaURI,
		Version: "2.1.0",
		Runs: []run{{
			Tool: tool{Driver: driver{
				Name:            r.Tool.Name,
				SemanticVersion: semantic(r.Tool.Version),
				Version:         r.Tool.Version,
				InformationURI:  r.Tool.InformationURI,
				Rules:           catalogue.rules,
				Notifications:   notificationKinds(),
			}},
			Invocations: []invocation{{
				ExecutionSuccessful: o.ExitCode == 0 || o.ExitCode == 1,
				ExitCode:            o.ExitCode,
				Notifications:       notifications(r, files, leftOut),
			}},
			AutomationDetails: automationDetails{ID: category},
			OriginalURIBaseIDs: map[string]baseDescription{
				rootID: {Description: text{Text: "The root of the repository, or the working directory when there is no repository."}},
			},
			Artifacts:  files.artifacts(),
			ColumnKind: "unicodeCodePoints",
			Results:    written,
		}},
	})
}

// mostSevere returns the findings to write: all of them, or as many as hosts
// show, the higher levels first and earlier ones before later ones, in the
// order they came in.
func mostSevere(all []finding.Finding) []finding.Finding {
	if len(all) <= maxResults {
		return all
	}
	byLevel := make([]int, len(all))
	for i := range byLevel {
		byLevel[i] = i
	}
	sort.SliceStable(byLevel, func(a, b int) bool {
		return report.ShownLevel(&all[byLevel[a]]) > report.ShownLevel(&all[byLevel[b]])
	})
	byLevel = byLevel[:maxResults]
	sort.Ints(byLevel)
	kept := make([]finding.Finding, len(byLevel))
	for i, from := range byLevel {
		kept[i] = all[from]
	}
	return kept
}

// semantic returns version when it has the form of Semantic Versioning 2.0.0,
// after a leading "v", and nothing otherwise.
func semantic(version string) string {
	v := strings.TrimPrefix(version, "v")
	core, _, _ := strings.Cut(v, "+")
	core, _, _ = strings.Cut(core, "-")
	numbers := strings.Split(core, ".")
	if len(numbers) != 3 {
		return ""
	}
	for _, n := range numbers {
		if n == "" || strings.Trim(n, "0123456789") != "" || len(n) > 1 && n[0] == '0' {
			return ""
		}
	}
	if strings.Trim(v, "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ.-+") != "" {
		return ""
	}
	return v
}
