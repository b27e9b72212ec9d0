package sarif

import (
	"encoding/json"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// object is a piece of JSON read without the types of the writer, so that a
// fault in them cannot hide itself.
type object = map[string]any

// problems says what a host or the standard would object to and the published
// schema lets pass: kind against level (section 3.27.10), rule indices (3.27.6),
// suppressions on all results or none (3.27.23), and what the largest code host
// documents as required (docs.github.com, "SARIF support for code scanning").
func problems(data []byte) []string {
	var log object
	if err := json.Unmarshal(data, &log); err != nil {
		return []string{err.Error()}
	}
	c := &checker{}
	runs := list(log["runs"])
	if log["version"] != "2.1.0" || len(runs) != 1 {
		return []string{"not one run of version 2.1.0"}
	}
	run := runs[0].(object)
	if _, ok := run["results"].([]any); !ok {
		c.add("results are missing or null")
	}
	if run["columnKind"] != "unicodeCodePoints" {
		c.add("columnKind is %v", run["columnKind"])
	}
	c.forbidden("", log)
	driver := run["tool"].(object)["driver"].(object)
	c.rules(list(driver["rules"]))
	c.artifacts(list(run["artifacts"]))
	suppressed := 0
	states := map[bool]int{}
	for _, r := range list(run["results"]) {
		c.result(r.(object), list(driver["rules"]), run)
		c.suppressions(r.(object), run)
		_, stated := r.(object)["baselineState"]
		states[stated]++
		if _, ok := r.(object)["suppressions"]; ok {
			suppressed++
		}
	}
	if n := len(list(run["results"])); suppressed != 0 && suppressed != n {
		c.add("suppressions on %d of %d results", suppressed, n)
	}
	if states[true] > 0 && states[false] > 0 {
		c.add("baselineState on %d results and not on %d", states[true], states[false])
	}
	return c.found
}

// suppressions holds what section 3.35 asks of each, and the words of 3.27.24.
func (c *checker) suppressions(r, run object) {
	id, _ := r["ruleId"].(string)
	if state, ok := r["baselineState"]; ok && !slices.Contains([]any{"new", "unchanged", "updated", "absent"}, state) {
		c.add("result of %s: baselineState %v", id, state)
	}
	for _, s := range list(r["suppressions"]) {
		s := s.(object)
		if s["kind"] != "external" || s["status"] != "accepted" {
			c.add("result of %s: suppression %v, %v", id, s["kind"], s["status"])
		}
		if text, _ := s["justification"].(string); text == "" {
			c.add("result of %s: suppression without a justification", id)
		}
		where, _ := s["location"].(object)
		c.location(id, where, run)
	}
}

type checker struct{ found []string }

func (c *checker) add(format string, args ...any) {
	c.found = append(c.found, fmt.Sprintf(format, args...))
}

func list(v any) []any { l, _ := v.([]any); return l }

func textOf(v any) string {
	o, _ := v.(object)
	s, _ := o["text"].(string)
	return s
}

// forbidden looks for what must not stand anywhere.
func (c *checker) forbidden(path string, v any) {
	switch v := v.(type) {
	case object:
		for key, value := range v {
			switch key {
			case "rank", "guid", "security-severity", "startTimeUtc", "endTimeUtc", "timeUtc", "machine", "account",
				"commandLine", "workingDirectory", "executableLocation", "lastModifiedTimeUtc", "correlationGuid":
				c.add("%s/%s must not be written", path, key)
			}
			c.forbidden(path+"/"+key, value)
		}
	case []any:
		for i := range v {
			c.forbidden(fmt.Sprintf("%s/%d", path, i), v[i])
		}
	}
}

func (c *checker) rules(rules []any) {
	last := ""
	for _, r := range rules {
		rule := r.(object)
		id, _ := rule["id"].(string)
		if id == "" || id <= last && last != "" {
			c.add("rule %q is not in order after %q", id, last)
		}
		last = id
		for _, key := range []string{"shortDescription", "fullDescription"} {
			if n := utf8.RuneCountInString(textOf(rule[key])); n == 0 || n > 1024 {
				c.add("rule %s: %s has %d characters", id, key, n)
			}
		}
		if textOf(rule["help"]) == "" {
			c.add("rule %s: no help", id)
		}
		if name, ok := rule["name"].(string); ok && (name == "" || strings.EqualFold(name, id) || utf8.RuneCountInString(name) > 255) {
			c.add("rule %s: name %q", id, name)
		}
		bag, _ := rule["properties"].(object)
		if len(list(bag["tags"])) > 20 {
			c.add("rule %s: more than 20 tags", id)
		}
		configuration, _ := rule["defaultConfiguration"].(object)
		if !slices.Contains([]any{"none", "note", "warning", "error"}, configuration["level"]) {
			c.add("rule %s: level %v", id, configuration["level"])
		}
	}
}

func (c *checker) artifacts(artifacts []any) {
	for _, a := range artifacts {
		artifact := a.(object)
		hashes, _ := artifact["hashes"].(object)
		if sum, _ := hashes["sha-256"].(string); !regexp.MustCompile(`^[0-9a-f]{64}$`).MatchString(sum) {
			c.add("artifact without a sha-256")
		}
		if len(list(artifact["roles"])) == 0 {
			c.add("artifact without a role")
		}
	}
}

func (c *checker) result(r object, rules []any, run object) {
	id, _ := r["ruleId"].(string)
	if index, ok := r["ruleIndex"].(float64); !ok || index < 0 || int(index) >= len(rules) || rules[int(index)].(object)["id"] != id {
		c.add("result of %s: ruleIndex %v", id, r["ruleIndex"])
	}
	if isFail, isNone := r["kind"] == "fail", r["level"] == "none"; isFail == isNone {
		c.add("result of %s: kind %v with level %v", id, r["kind"], r["level"])
	}
	locations := list(r["locations"])
	if len(locations) != 1 {
		c.add("result of %s: %d locations", id, len(locations))
	}
	for _, l := range locations {
		c.location(id, l.(object), run)
	}
	var ids []string
	for _, l := range list(r["relatedLocations"]) {
		number, _ := l.(object)["id"].(float64)
		ids = append(ids, fmt.Sprint(number))
		if number < 1 || textOf(l.(object)["message"]) == "" {
			c.add("result of %s: related location without id or message", id)
		}
		c.location(id, l.(object), run)
	}
	c.message(id, textOf(r["message"]), ids)
	prints, _ := r["partialFingerprints"].(object)
	if own, _ := prints["busgaussFinding/v1"].(string); !regexp.MustCompile(`^[0-9a-f]{64}:[1-9][0-9]*$`).MatchString(own) {
		c.add("result of %s: fingerprint %q", id, own)
	}
	if hash, ok := prints["primaryLocationLineHash"].(string); ok && !regexp.MustCompile(`^[0-9a-f]{1,16}:[1-9][0-9]*$`).MatchString(hash) {
		c.add("result of %s: line hash %q", id, hash)
	}
}

func (c *checker) message(id, text string, relatedIDs []string) {
	if n := utf8.RuneCountInString(text); n == 0 || n > 1000 {
		c.add("result of %s: message of %d characters", id, n)
	}
	first, _, _ := strings.Cut(text, ". ")
	if n := utf8.RuneCountInString(first); n > 255 {
		c.add("result of %s: first sentence of %d characters", id, n)
	}
	plain := regexp.MustCompile(`\\[\\\[\]]`).ReplaceAllString(text, "")
	rest := regexp.MustCompile(`\[[^\[\]]*\]\(([0-9]+)\)`).ReplaceAllStringFunc(plain, func(link string) string {
		if target := link[strings.LastIndex(link, "(")+1 : len(link)-1]; !slices.Contains(relatedIDs, target) {
			c.add("result of %s: link to %s", id, target)
		}
		return ""
	})
	if strings.ContainsAny(rest, `[]\`) {
		c.add("result of %s: bracket or backslash not escaped in %q", id, text)
	}
}

func (c *checker) location(id string, l, run object) {
	physical, _ := l["physicalLocation"].(object)
	artifact, _ := physical["artifactLocation"].(object)
	uri, _ := artifact["uri"].(string)
	parsed, err := url.Parse(uri)
	switch {
	case uri == "" || err != nil || parsed.IsAbs() || parsed.Host != "" || parsed.RawQuery != "" || parsed.Fragment != "":
		c.add("result of %s: URI %q", id, uri)
	case strings.HasPrefix(uri, "/") || !regexp.MustCompile(`^([A-Za-z0-9._~!$&'()*+,;=@/-]|%[0-9A-F]{2})+$`).MatchString(uri):
		c.add("result of %s: URI %q", id, uri)
	case slices.Contains(strings.Split(uri, "/"), ".."):
		c.add("result of %s: URI %q leaves the root", id, uri)
	}
	bases, _ := run["originalUriBaseIds"].(object)
	if base, _ := artifact["uriBaseId"].(string); bases[base] == nil {
		c.add("result of %s: base %q", id, base)
	}
	if index, ok := artifact["index"].(float64); ok {
		artifacts := list(run["artifacts"])
		if int(index) >= len(artifacts) || artifacts[int(index)].(object)["location"].(object)["uri"] != uri {
			c.add("result of %s: artifact index %v", id, index)
		}
	}
	region, _ := physical["region"].(object)
	numbers := make([]float64, 4)
	for i, key := range []string{"startLine", "startColumn", "endLine", "endColumn"} {
		numbers[i], _ = region[key].(float64)
		if numbers[i] < 1 {
			c.add("result of %s: %s is %v", id, key, region[key])
		}
	}
	if numbers[2] < numbers[0] || numbers[2] == numbers[0] && numbers[3] < numbers[1] {
		c.add("result of %s: region ends before it starts", id)
	}
}

func TestOwnChecks(t *testing.T) {
	for name, data := range outputs(t) {
		for _, p := range problems(data) {
			t.Errorf("%s: %s", name, p)
		}
	}
}

// Every check must object to a file that breaks it.
func TestOwnChecksSeeFaults(t *testing.T) {
	whole := string(written(t, thruster(), Options{ExitCode: 1}))
	for _, tc := range []struct{ from, to, want string }{
		{`"results": [`, `"resultz": [`, "results are missing"},
		{`"columnKind": "unicodeCodePoints"`, `"columnKind": "utf16CodeUnits"`, "columnKind"},
		{`"kind": "informational"`, `"kind": "fail"`, "kind fail with level none"},
		{`"kind": "fail"`, `"kind": "open"`, "kind open with level"},
		{`"ruleIndex": 2`, `"ruleIndex": 1`, "ruleIndex"},
		{`"ruleIndex": 2`, `"ruleIndex": 200`, "ruleIndex"},
		{`"startColumn": 22`, `"startColumn": 0`, "startColumn"},
		{`"endColumn": 40`, `"endColumn": 21`, "ends before"},
		{`"uri": "plant/`, `"uri": "/plant/`, "URI"},
		{`"uri": "plant/`, `"uri": "c:/plant/`, "URI"},
		{`"uri": "plant/`, `"uri": "../plant/`, "leaves the root"},
		{`thruster%20%231.yaml`, `thruster #1.yaml`, "URI"},
		{`"uriBaseId": "SRCROOT"`, `"uriBaseId": "HOME"`, "base"},
		{`"kind": "fail",`, `"kind": "fail", "rank": 3,`, "rank"},
		{`"kind": "informational",`, `"kind": "informational", "suppressions": [],`, "suppressions on 1 of"},
		{`(2)."`, `(3)."`, "link to 3"},
		{`\\[bars\\]`, `[bars]`, "not escaped"},
		{`"sha-256"`, `"sha256"`, "sha-256"},
		{`"id": "range-use"`, `"id": "zange-use"`, "not in order"},
		{`"id": 2,`, `"id": 0,`, "without id"},
		{`"busgaussFinding/v1": "9`, `"busgaussFinding/v1": "x`, "fingerprint"},
		{`"text": "undecided (`, `"text": "` + strings.Repeat("x", 260) + `(`, "first sentence"},
		{`"text": "undecided (`, `"text": "` + strings.Repeat("x. ", 400) + `(`, "message of"},
		{`"index": 0`, `"index": 1`, "artifact index"},
		{`"shortDescription": {`, `"shortDescripzion": {`, "shortDescription"},
	} {
		if !strings.Contains(whole, tc.from) {
			t.Fatalf("nothing to break: %s", tc.from)
		}
		found := strings.Join(problems([]byte(strings.ReplaceAll(whole, tc.from, tc.to))), "\n")
		if !strings.Contains(found, tc.want) {
			t.Errorf("%s for %s: found %q, want %q", tc.to, tc.from, found, tc.want)
		}
	}
}
