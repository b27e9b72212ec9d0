package draft

import (
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// unnamed makes a file in a folder that has no name there; nil where the file system, or a system without /proc, cannot.
func unnamed(dir string) *os.File {
	fd, err := unix.Open(dir, unix.O_TMPFILE|unix.O_RDWR|unix.O_CLOEXEC, 0o600)
	if err != nil {
		return nil // making one with a name says why, if that fails as well
	}
	f := os.NewFile(uintptr(fd), dir)
	if _, err := os.Lstat(procName(f)); err != nil {
		f.Close()
		return nil
	}
	return f
}

// link gives a file without a name one that is free: see open(2), O_TMPFILE.
func link(f *os.File, path string) error {
	err := unix.Linkat(unix.AT_FDCWD, procName(f), unix.AT_FDCWD, path, unix.AT_SYMLINK_FOLLOW)
	if err != nil {
		return &os.PathError{Op: "link", Path: path, Err: err}
	}
	return nil
}

func procName(f *os.File) string { return fmt.Sprintf("/proc/self/fd/%d", f.Fd()) }
