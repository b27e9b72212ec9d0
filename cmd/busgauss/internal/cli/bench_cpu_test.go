//go:build !unix

package cli

import "time"

// spentCPU is not known here.
func spentCPU() time.Duration { return 0 }
