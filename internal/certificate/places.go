package certificate

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/store"
)

// places are the free places of the list that is being filled. The standard asks for places at random (Bitstring Status List v1.0).
type places struct {
	chance io.Reader
	list   int
	used   map[int]bool
	open   func(list int) (map[int]bool, error)
}

// freePlaces opens the first list that is less than half full.
func (c *Issuer) freePlaces(ctx context.Context) (*places, error) {
	p := &places{chance: c.options.Chance, open: func(list int) (map[int]bool, error) {
		indexes, err := store.UsedIndexes(ctx, c.store, list)
		used := make(map[int]bool, len(indexes))
		for _, i := range indexes {
			used[i] = true
		}
		return used, err
	}}
	return p, p.turn()
}

// turn goes on to a list that is less than half full: in a fuller one the places left would tell when they were taken.
func (p *places) turn() (err error) {
	for p.used == nil || len(p.used) >= credential.ListLength/2 {
		p.list++
		if p.used, err = p.open(p.list); err != nil {
			return err
		}
	}
	return nil
}

// take gives a free place.
func (p *places) take() (list, index int, err error) {
	if p.chance == nil {
		return 0, 0, errors.New("certificates are issued without chance for their places in the status list")
	}
	if err := p.turn(); err != nil {
		return 0, 0, err
	}
	for {
		var b [4]byte
		if _, err := io.ReadFull(p.chance, b[:]); err != nil {
			return 0, 0, fmt.Errorf("choose a place in the status list: %w", err)
		}
		index = int(binary.BigEndian.Uint32(b[:]) % credential.ListLength) // a power of two, so every place is as likely
		if !p.used[index] {
			p.used[index] = true
			return p.list, index, nil
		}
	}
}
