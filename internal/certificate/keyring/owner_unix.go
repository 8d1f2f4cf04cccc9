//go:build unix

package keyring

import (
	"io/fs"
	"os"
	"syscall"
)

// foreign says that a file belongs to another account, which could change its mode at any time.
func foreign(info fs.FileInfo) bool {
	stat, is := info.Sys().(*syscall.Stat_t)
	return is && int(stat.Uid) != os.Geteuid()
}
