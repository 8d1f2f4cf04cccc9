package paper

import (
	"encoding/binary"
	"slices"
)

// pdfTables are the tables of a TrueType font that a PDF wants (ISO 32000-1, 9.9). The others hold names and numbers that it has elsewhere; they
// would make up a quarter of each page.
var pdfTables = []string{"cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep"}

const (
	directory = 12 // bytes before the first entry
	entry     = 16 // bytes of an entry: name, sum, offset, length
)

// onlyTables copies a font that is known to be whole with only those tables.
func onlyTables(font []byte, keep []string) []byte {
	var kept [][]byte
	for i := range int(binary.BigEndian.Uint16(font[4:])) {
		e := font[directory+entry*i:][:entry]
		if slices.Contains(keep, string(e[:4])) {
			kept = append(kept, e)
		}
	}
	power := 0
	for 2<<power <= len(kept) {
		power++
	}
	out := append([]byte{}, font[:4]...)
	for _, n := range []int{len(kept), entry << power, power, entry*len(kept) - entry<<power} {
		out = binary.BigEndian.AppendUint16(out, uint16(n))
	}
	out = append(out, make([]byte, entry*len(kept))...)
	head := 0
	for i, e := range kept {
		place := out[directory+entry*i:][:entry]
		copy(place, e)
		binary.BigEndian.PutUint32(place[8:], uint32(len(out)))
		from, length := binary.BigEndian.Uint32(e[8:]), binary.BigEndian.Uint32(e[12:])
		if string(e[:4]) == "head" {
			head = len(out)
		}
		out = append(out, font[from:from+length]...)
		out = append(out, make([]byte, -len(out)&3)...)
	}
	seal(out, head)
	return out
}

// seal writes the number in the head that makes the sum of all a fixed one (OpenType specification, head: checksumAdjustment).
func seal(font []byte, head int) {
	adjustment := font[head+8:][:4]
	clear(adjustment)
	sum := uint32(0)
	for at := 0; at < len(font); at += 4 {
		sum += binary.BigEndian.Uint32(font[at:])
	}
	binary.BigEndian.PutUint32(adjustment, 0xB1B0AFBA-sum)
}
