package access

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Door lets accounts in by their tokens.
type Door struct {
	store  *store.Store
	chance io.Reader
}

// NewDoor gives a door. Tokens are made of chance, which must not be guessable.
func NewDoor(s *store.Store, chance io.Reader) *Door { return &Door{s, chance} }

const (
	tokenStart = "gh_" // so that a token is recognised where it should not be
	tokenBytes = 32
)

// Open gives the account of a token. An absent, a wrong and a revoked token are refused with the same words (Unauthenticated).
func (d *Door) Open(ctx context.Context, token string) (groundhand.Account, error) {
	digest := digestOf(token)
	found, err := store.Find[groundhand.Token](ctx, d.store, store.ByDigest, []string{digest})
	if err != nil {
		return groundhand.Account{}, err
	}
	for _, t := range found {
		if t.RevokedAt.IsZero() && subtle.ConstantTimeCompare([]byte(t.Digest), []byte(digest)) == 1 {
			return store.Get[groundhand.Account](ctx, d.store, t.AccountID)
		}
	}
	return groundhand.Account{}, unauthenticated()
}

// AddAccount adds an account with its first token. The token is shown this once: only its digest is kept.
func (d *Door) AddAccount(ctx context.Context, name string, c groundhand.Capacity, w groundhand.WorkerID) (account groundhand.Account, token string, err error) {
	if err := checkAccount(name, c, w); err != nil {
		return account, "", err
	}
	err = d.store.InTx(ctx, func(tx *store.Store) error {
		account = groundhand.Account{
			ID: groundhand.AccountID(tx.NewID()), RecordedAt: tx.Now(), Name: strings.TrimSpace(name), Capacity: c, WorkerID: w,
		}
		if err := store.Add(ctx, tx, account); err != nil {
			return err
		}
		token, err = d.addToken(ctx, tx, account.ID)
		return err
	})
	if err != nil {
		return groundhand.Account{}, "", err
	}
	return account, token, nil
}

func checkAccount(name string, c groundhand.Capacity, w groundhand.WorkerID) error {
	var p groundhand.Problems
	if strings.TrimSpace(name) == "" {
		p.Add(groundhand.CodeInvalid, "name", "Give the account a name.")
	}
	if !slices.Contains(groundhand.Capacities, c) {
		p.Add(groundhand.CodeInvalid, "capacity", "An account cannot have the capacity %q.", string(c))
	}
	if (c == foreman || c == worker) && w == "" {
		p.Add(groundhand.CodeInvalid, "workerId", "Say which worker this account belongs to; what it reaches depends on it.")
	}
	return p.Err()
}

// AddToken gives an account one more token.
func (d *Door) AddToken(ctx context.Context, account groundhand.AccountID) (token string, err error) {
	err = d.store.InTx(ctx, func(tx *store.Store) error {
		token, err = d.addToken(ctx, tx, account)
		return err
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

func (d *Door) addToken(ctx context.Context, tx *store.Store, account groundhand.AccountID) (string, error) {
	secret := make([]byte, tokenBytes)
	if _, err := io.ReadFull(d.chance, secret); err != nil {
		return "", fmt.Errorf("make a token: %w", err)
	}
	token := tokenStart + base64.RawURLEncoding.EncodeToString(secret)
	return token, store.Add(ctx, tx, groundhand.Token{
		ID: groundhand.EntryID(tx.NewID()), AccountID: account, Digest: digestOf(token), MadeAt: tx.Now(),
	})
}

// Revoke ends all tokens of an account and says how many that were.
func (d *Door) Revoke(ctx context.Context, account groundhand.AccountID) (int, error) {
	if _, err := store.Get[groundhand.Account](ctx, d.store, account); err != nil {
		return 0, err
	}
	return d.store.RevokeTokens(ctx, account)
}

func digestOf(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}
