package finding

import "testing"

// The commands are those of github.com/actions/runner (ActionCommand.cs) and of the logging commands of Azure Pipelines.
func TestWholeLine(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "drive.yaml:1:1: error: SV: 5 %", "drive.yaml:1:1: error: SV: 5 %"},
		{"command", "::error::x", `\::error::x`},
		{"after blanks", " \u00a0\t ::set-output name=a::b", " \u00a0\t \\::set-output name=a::b"},
		{"in the middle", "a ::error::x", "a ::error::x"},
		{"old form", "a ##[error]x", `a #\#[error]x`},
		{"three signs", "###[error]x", `#\#\#[error]x`},
		{"vso", "##vso[task.setvariable variable=a]b", `#\#vso[task.setvariable variable=a]b`},
		{"colour and break", "a\x1b[31m\n::error::", `a\x1b[31m\n::error::`},
		{"carriage return inside", "a\r::error::x", `a\r::error::x`},
		{"carriage return at the end", "a\r", "a\r"},
		{"table", "a\tb##[c]", "a\tb#\\#[c]"},
	} {
		if got := WholeLine(c.in); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if once := WholeLine(c.in); WholeLine(once) != once {
			t.Errorf("%s: twice is not once", c.name)
		}
	}
}
