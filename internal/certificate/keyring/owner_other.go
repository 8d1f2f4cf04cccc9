//go:build !unix

package keyring

import "io/fs"

// foreign is not told where files have no owner of the kind meant here.
func foreign(fs.FileInfo) bool { return false }
