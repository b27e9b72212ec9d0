package draft

import (
	"os"
	"path/filepath"
	"testing"
)

// named hides that the system can do without names.
func named(t *testing.T, dir string) *Draft {
	t.Helper()
	f, err := os.CreateTemp(dir, Name)
	if err != nil {
		t.Fatal(err)
	}
	return &Draft{f, dir, f.Name()}
}

// A draft becomes a file, new or in the place of another, and until then there is none under its path; what is dropped, and what
// cannot become one, leaves nothing.
func TestDraft(t *testing.T) {
	for what, create := range map[string]func(*testing.T, string) *Draft{"named": named, "as the system can": func(t *testing.T, dir string) *Draft {
		d, err := Create(dir)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}} {
		t.Run(what, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "report")
			for _, text := range []string{"first", "second", ""} {
				d := create(t, dir)
				before, _ := os.ReadFile(path)
				if _, err := d.WriteString(text); err != nil {
					t.Fatal(err)
				}
				if now, _ := os.ReadFile(path); string(now) != string(before) {
					t.Fatalf("%q before the draft is whole", now)
				}
				if err := d.Become(path); err != nil {
					t.Fatal(err)
				}
				if now, err := os.ReadFile(path); err != nil || string(now) != text {
					t.Fatalf("%q, %v", now, err)
				}
			}
			create(t, dir).Drop()
			d := create(t, dir)
			if err := os.Mkdir(filepath.Join(dir, "folder"), 0o700); err != nil {
				t.Fatal(err)
			}
			if err := d.Become(filepath.Join(dir, "folder")); err == nil {
				t.Error("a draft became a folder")
			}
			if err := create(t, dir).Become(filepath.Join(dir, "none", "x")); err == nil {
				t.Error("a draft stands in a folder that is not there")
			}
			list, err := os.ReadDir(dir)
			if err != nil || len(list) != 2 {
				t.Errorf("left behind: %v, %v", list, err)
			}
		})
	}
	if _, err := Create(filepath.Join(t.TempDir(), "none")); err == nil {
		t.Error("a draft in a folder that is not there")
	}
}

// Until it is whole a draft is seen by nobody, where the system can.
func TestUnnamed(t *testing.T) {
	dir := t.TempDir()
	d, err := Create(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Drop()
	if d.name != "" {
		t.Skip("the system has no files without a name")
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) > 0 {
		t.Errorf("%v, %v", list, err)
	}
}
