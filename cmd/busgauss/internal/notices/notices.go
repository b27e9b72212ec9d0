// Package notices holds the licences of what the program is linked from.
package notices

import _ "embed"

// Text is what goes with the program wherever it is passed on. cmd/notices writes it.
//
//go:embed NOTICES.txt
var Text string
