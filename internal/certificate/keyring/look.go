package keyring

import (
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"groundhand/internal/certificate/credential"
)

func (r *Ring) checkFolder() error {
	info, err := os.Lstat(r.dir)
	switch {
	case err != nil:
		return fmt.Errorf("look at the folder of keys: %w", err)
	case info.Mode()&fs.ModeSymlink != 0:
		return fmt.Errorf("the folder of keys %s is a symbolic link, which can be turned elsewhere; name the folder itself", r.dir)
	case !info.IsDir():
		return fmt.Errorf("%s is no folder; name another one for the keys", r.dir)
	case foreign(info):
		return fmt.Errorf("the folder of keys %s belongs to another account; run this program as that one, or chown the folder to this one", r.dir)
	case info.Mode().Perm()&putIn != 0:
		return fmt.Errorf("a group or others may write in the folder of keys %s (mode %04o); chmod 700 %s", r.dir, info.Mode().Perm(), r.dir)
	}
	return nil
}

// checkFiles reads every key once, and looks at the mode of whatever else lies there: it may be a copy of a key. What a crash left of a key that was
// being destroyed is destroyed.
func (r *Ring) checkFiles() error {
	entries, err := os.ReadDir(r.dir)
	if err != nil {
		return fmt.Errorf("read the folder of keys: %w", err)
	}
	var wrong []error
	for _, e := range entries {
		name, isKey := strings.CutSuffix(e.Name(), ending)
		switch {
		case isDying(e):
			err = r.end(filepath.Join(r.dir, e.Name()))
		case isKey:
			_, err = r.read(name)
		case !e.IsDir():
			_, err = lookAt(filepath.Join(r.dir, e.Name()))
		default:
			err = nil
		}
		wrong = append(wrong, err)
	}
	return errors.Join(wrong...)
}

// isDying says that a file is what is left of a key.
func isDying(e fs.DirEntry) bool {
	name, is := strings.CutSuffix(e.Name(), dying)
	_, err := credential.ParseMultikey(name)
	return is && err == nil && e.Type().IsRegular()
}

// lookAt refuses a file that is none, or that somebody else can get at.
func lookAt(path string) (fs.FileInfo, error) {
	info, err := os.Lstat(path)
	switch {
	case err != nil:
		return nil, fmt.Errorf("look at a file of the keys: %w", err)
	case info.Mode()&fs.ModeSymlink != 0:
		return nil, fmt.Errorf("%s is a symbolic link; put the file itself there", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no file; move it out of the folder of keys", path)
	case foreign(info):
		return nil, fmt.Errorf("%s belongs to another account; run this program as that one, or chown the file to this one", path)
	case info.Mode().Perm()&others != 0:
		return nil, fmt.Errorf("a group or others have access to %s (mode %04o); chmod 600 %s, and if anybody may have read it, say that the key was stolen", path, info.Mode().Perm(), path)
	}
	return info, nil
}

// read reads one key and sees that it is the one that its file is named after.
func (r *Ring) read(multikey string) (ed25519.PrivateKey, error) {
	path := r.path(multikey)
	before, err := lookAt(path)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("open a key: %w", err)
	}
	defer f.Close()
	if now, err := f.Stat(); err != nil || !os.SameFile(before, now) {
		return nil, fmt.Errorf("%s was changed while it was being opened; look who did that", path)
	}
	text, err := io.ReadAll(io.LimitReader(f, largest+1))
	if err != nil {
		return nil, fmt.Errorf("read a key: %w", err)
	}
	defer clear(text)
	key, err := decode(text)
	if err != nil {
		return nil, fmt.Errorf("%s %w", path, err)
	}
	if own := multikeyOf(key); own != multikey {
		return nil, fmt.Errorf("%s is not named after its key; its name should be %s", path, own+ending)
	}
	return key, nil
}

// The causes are not told further: they speak about the bytes of a private key.
var (
	errDamaged = errors.New("is damaged: it is no PEM file with one PKCS #8 private key; put the copy of your backup in its place, or move it out of the folder if nothing was ever signed by it")
	errNotOurs = errors.New("holds a key that is not Ed25519, which alone is used here; move it out of the folder of keys")
)

func decode(text []byte) (ed25519.PrivateKey, error) {
	block, rest := pem.Decode(text)
	if block == nil || len(text) > largest || block.Type != blockType || len(block.Headers) > 0 || len(bytes.TrimSpace(rest)) > 0 {
		return nil, errDamaged
	}
	defer clear(block.Bytes)
	parsed, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, errDamaged
	}
	key, is := parsed.(ed25519.PrivateKey)
	if !is {
		return nil, errNotOurs
	}
	return key, nil
}
