//go:build !linux

package draft

import "os"

// unnamed would make a file without a name, which this system has not.
func unnamed(string) *os.File { return nil }

// link is not asked where there is no file without a name.
func link(*os.File, string) error { panic("draft: a file without a name") }
