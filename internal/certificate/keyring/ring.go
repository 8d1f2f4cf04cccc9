package keyring

import (
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"groundhand/internal/certificate/credential"
)

// ErrMissing says that the ring does not hold a key: it was destroyed, or is kept in another folder.
var ErrMissing = errors.New("the private key is not in the folder of keys")

const (
	ending    = ".pem"
	dying     = ".gone"       // of a key that is being destroyed
	blockType = "PRIVATE KEY" // RFC 7468, section 10
	fileMode  = 0o600
	dirMode   = 0o700
	others    = 0o077   // what a group and everybody else may do
	putIn     = 0o022   // that they may put files into a folder
	largest   = 4 << 10 // bytes of a file; a key has about 120
)

// Ring is a folder of private keys. It never shows one in an error or when it is printed.
type Ring struct {
	dir string

	mu   sync.Mutex
	keys map[string]ed25519.PrivateKey // those that were read
}

// Open opens a folder of keys and makes it where there is none. Every file in it is looked at: links, files that a group or others may read, files
// of another account and keys that are damaged are refused, all of them at once.
func Open(dir string) (*Ring, error) {
	if dir == "" {
		return nil, errors.New("say in which folder the keys are kept")
	}
	r := &Ring{dir: filepath.Clean(dir), keys: map[string]ed25519.PrivateKey{}} // without a slash at its end, which would follow a link
	if _, err := os.Lstat(r.dir); errors.Is(err, fs.ErrNotExist) {
		if err := os.MkdirAll(r.dir, dirMode); err != nil {
			return nil, fmt.Errorf("make the folder of keys: %w", err)
		}
	}
	if err := r.checkFolder(); err != nil {
		return nil, err
	}
	return r, r.checkFiles()
}

// Format names the folder, whatever the verb: a ring that is printed shows no key.
func (r *Ring) Format(to fmt.State, _ rune) { fmt.Fprint(to, "keyring ", r.dir) }

func (r *Ring) path(multikey string) string { return filepath.Join(r.dir, multikey+ending) }

func multikeyOf(key ed25519.PrivateKey) string {
	return credential.Multikey(key.Public().(ed25519.PublicKey))
}

// Make makes a key from 32 bytes of chance, which in practice come from crypto/rand, writes it and gives its Multikey. A key that is there already
// is left as it is, and refused.
func (r *Ring) Make(chance io.Reader) (string, error) {
	if err := r.checkFolder(); err != nil {
		return "", err
	}
	seed := make([]byte, ed25519.SeedSize)
	defer clear(seed)
	if _, err := io.ReadFull(chance, seed); err != nil {
		return "", fmt.Errorf("make a key: no chance to make it of: %w", err)
	}
	key := ed25519.NewKeyFromSeed(seed)
	multikey := multikeyOf(key)
	if err := r.write(multikey, key); err != nil {
		return "", err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.keys[multikey] = key
	return multikey, nil
}

func (r *Ring) write(multikey string, key ed25519.PrivateKey) error {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return errors.New("make a key: it cannot be written as PKCS #8")
	}
	defer clear(der)
	text := pem.EncodeToMemory(&pem.Block{Type: blockType, Bytes: der})
	defer clear(text)
	path := r.path(multikey)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return fmt.Errorf("make a key: %w", err)
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Chmod(fileMode), f.Sync(), f.Close()); err == nil {
		err = r.sync()
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write a key: %w", err), os.Remove(path)) // it was made here, a moment ago
	}
	return nil
}

// sync makes it last that a file came or went.
func (r *Ring) sync() error {
	d, err := os.Open(r.dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Private gives a private key; ErrMissing for one that the ring does not hold. What was read once is kept in memory until it is destroyed; anything
// else is read and checked anew.
func (r *Ring) Private(multikey string) (ed25519.PrivateKey, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if key, held := r.keys[multikey]; held {
		return slices.Clone(key), nil
	}
	if err := r.has(multikey); err != nil {
		return nil, err
	}
	key, err := r.read(multikey)
	if err != nil {
		return nil, err
	}
	r.keys[multikey] = key
	return slices.Clone(key), nil
}

// has is nil when there is a file of this key. What is no Multikey is never looked for: it could lead out of the folder.
func (r *Ring) has(multikey string) error {
	if _, err := credential.ParseMultikey(multikey); err != nil {
		return ErrMissing
	}
	if err := r.checkFolder(); err != nil {
		return err
	}
	_, err := os.Lstat(r.path(multikey))
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w %s: %s", ErrMissing, r.dir, multikey)
	}
	return err
}

// Destroy forgets a private key and removes its file, for good; ErrMissing when there is none. It is written over before, which helps only where the
// disk writes in place: a backup has to be cleared by hand. It loses its name first, so that a crash on the way leaves no damaged key, for which Open
// would ask for the backup.
func (r *Ring) Destroy(multikey string) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if key, held := r.keys[multikey]; held {
		clear(key)
		delete(r.keys, multikey)
	}
	if err := r.has(multikey); err != nil {
		return err
	}
	path := r.path(multikey)
	if _, err := lookAt(path); err != nil {
		return err
	}
	gone := strings.TrimSuffix(path, ending) + dying
	if err := os.Rename(path, gone); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w %s: %s", ErrMissing, r.dir, multikey) // another program was faster
	} else if err != nil {
		return fmt.Errorf("destroy a key: %w", err)
	}
	return r.end(gone)
}

// end writes over what was a key and removes it.
func (r *Ring) end(path string) error {
	over := overwrite(path)
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("destroy a key: %w", errors.Join(err, over))
	}
	if err := r.sync(); err != nil {
		return fmt.Errorf("destroy a key: %w", err)
	}
	return nil
}

func overwrite(path string) error {
	info, err := lookAt(path)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.Write(make([]byte, min(info.Size(), largest)))
	return errors.Join(err, f.Sync(), f.Close())
}

// Held gives the Multikeys of the keys in the folder, sorted. A file that is not named as a key is none.
func (r *Ring) Held() ([]string, error) {
	if err := r.checkFolder(); err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(r.dir)
	if err != nil {
		return nil, fmt.Errorf("read the folder of keys: %w", err)
	}
	var out []string
	for _, e := range entries {
		name, isKey := strings.CutSuffix(e.Name(), ending)
		if _, err := credential.ParseMultikey(name); isKey && err == nil {
			out = append(out, name)
		}
	}
	return out, nil
}
