package ledger

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// Checkpoint says how far a log has come. Who keeps it can prove later that nothing before it was changed.
type Checkpoint struct {
	Origin string // the name of the log
	Size   int64
	Root   Hash
}

// String is the text of a checkpoint as C2SP tlog-checkpoint has it: name, size and root, a line each.
func (c Checkpoint) String() string {
	return fmt.Sprintf("%s\n%d\n%s\n", c.Origin, c.Size, base64.StdEncoding.EncodeToString(c.Root[:]))
}

// Errors of what is handed in as a checkpoint.
var (
	ErrNoCheckpoint = errors.New("this is no checkpoint")
	ErrOtherKey     = errors.New("the checkpoint is not signed by this key")
	ErrNoKey        = errors.New("this is no key of a log")
)

func parse(text string) (Checkpoint, error) {
	lines := strings.SplitN(text, "\n", 4) // further lines may follow, and are signed, but mean nothing here
	if len(lines) < 4 || lines[0] == "" {
		return Checkpoint{}, ErrNoCheckpoint
	}
	size, err := strconv.ParseInt(lines[1], 10, 64)
	if err != nil || size < 0 || strconv.FormatInt(size, 10) != lines[1] {
		return Checkpoint{}, ErrNoCheckpoint
	}
	root, err := base64.StdEncoding.Strict().DecodeString(lines[2])
	if err != nil || len(root) != len(Hash{}) {
		return Checkpoint{}, ErrNoCheckpoint
	}
	return Checkpoint{Origin: lines[0], Size: size, Root: Hash(root)}, nil
}

// MakeKey makes the pair of keys of a log: the first signs and stays with the records, the second checks and goes to whoever checks.
func MakeKey(random io.Reader, origin string) (signing, checking string, err error) {
	return note.GenerateKey(random, origin)
}

// Sign signs a checkpoint with the signing key of its log.
func Sign(c Checkpoint, signing string) ([]byte, error) {
	signer, err := note.NewSigner(strings.TrimSpace(signing))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoKey, err)
	}
	if signer.Name() != c.Origin {
		return nil, fmt.Errorf("%w: it is that of %s and not of %s", ErrNoKey, signer.Name(), c.Origin)
	}
	return note.Sign(&note.Note{Text: c.String()}, signer)
}

// Open reads a signed checkpoint and checks the signature with the checking key.
func Open(signed []byte, checking string) (Checkpoint, error) {
	verifier, err := note.NewVerifier(strings.TrimSpace(checking))
	if err != nil {
		return Checkpoint{}, fmt.Errorf("%w: %w", ErrNoKey, err)
	}
	opened, err := note.Open(signed, note.VerifierList(verifier))
	if unsigned := (*note.UnverifiedNoteError)(nil); errors.As(err, &unsigned) {
		return Checkpoint{}, ErrOtherKey
	}
	if invalid := (*note.InvalidSignatureError)(nil); errors.As(err, &invalid) {
		return Checkpoint{}, ErrOtherKey
	}
	if err != nil {
		return Checkpoint{}, fmt.Errorf("%w: %w", ErrNoCheckpoint, err)
	}
	return parse(opened.Text)
}

// CheckingKey finds the checking key in a text that somebody kept; empty when there is none.
func CheckingKey(text string) string {
	for _, word := range strings.Fields(text) {
		if _, err := note.NewVerifier(word); err == nil {
			return word
		}
	}
	return ""
}

// SigningKey finds the signing key in a text; empty when there is none.
func SigningKey(text string) string {
	for _, word := range strings.Fields(text) {
		if _, err := note.NewSigner(word); err == nil {
			return word
		}
	}
	return ""
}
