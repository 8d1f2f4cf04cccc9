package paper

import (
	"bytes"
	"compress/zlib"
	"encoding/json"
	"io"
	"slices"

	"groundhand/internal/groundhand"
)

// Bounds of what is read from an uploaded file.
const (
	MaxPDF        = 2 << 20 // bytes of a PDF; a page of ours has 40,000
	MaxAttachment = 1 << 20 // bytes of one attached file, unpacked
	maxAttached   = 8       // JSON files attached to one PDF
	maxTried      = 32      // attached files of any kind that are looked into
)

// Attached gives the JSON files attached to a PDF, each once, in the order in which they stand. A PDF without any gives none. Whether they
// are signed, and by whom, is not looked at.
//
// What is read: whole objects of the form "12 0 obj << … >> stream … endstream" whose dictionary says /Type /EmbeddedFile, or leaves out its
// type and has the /Params that only attached files have, plain or packed with one /FlateDecode without predictor. That is what Write makes. The table of objects is not needed for it and not believed, so a
// file that was changed and saved again, linearised, or given object streams and a packed table (which never hold streams) is read too.
//
// What is not: files under a password, even an empty one (refused), other filters (passed over) and what stands inside a stream. A page that was printed to a new PDF has no attachment any more.
//
// Any bytes are welcome. The work is in proportion to their number, and no more is unpacked than MaxAttachment for each of the few files
// that are looked into; a refusal is a groundhand.Error of code INVALID or TOO_LARGE that says what to do.
func Attached(pdf []byte) ([][]byte, error) {
	if len(pdf) > MaxPDF {
		return nil, tooLarge("This file has more than %d bytes. A certificate is much smaller; send the signed .json file itself.", MaxPDF)
	}
	if !bytes.Contains(pdf[:min(len(pdf), 1024)], []byte("%PDF-")) {
		return nil, groundhand.Invalid("file", "This is not a PDF file.")
	}
	if locked(pdf) {
		return nil, protected()
	}
	return gather(pdf)
}

func protected() error {
	return groundhand.Invalid("file", "This PDF is protected by a password or against changes. Send the page as it was handed out, or the signed .json file.")
}

func damaged() error {
	return groundhand.Invalid("file", "This PDF or the file attached to it is cut off or damaged. Fetch it again, or send the signed .json file.")
}

func tooLarge(format string, args ...any) error {
	e := groundhand.Invalid("file", format, args...)
	e.Code = groundhand.CodeTooLarge
	return e
}

// locked says that the file is encrypted. A file with a table names that beside the table, one with a packed table in its dictionary.
func locked(pdf []byte) bool {
	mark := []byte("trailer")
	for at := bytes.Index(pdf, mark); at >= 0; {
		dict, end := readDictionary(pdf, at+len(mark))
		if dict.has("Encrypt") {
			return true
		}
		at = next(pdf, end, mark)
	}
	return false
}

// next is where mark comes at or after from, or -1.
func next(pdf []byte, from int, mark []byte) int {
	if at := bytes.Index(pdf[from:], mark); at >= 0 {
		return from + at
	}
	return -1
}

var (
	objectMark = []byte(" obj")
	streamMark = []byte("stream")
	streamEnd  = []byte("endstream")
)

// gather goes over the objects from first to last, never back, so that nothing is read twice whatever the file says.
func gather(pdf []byte) ([][]byte, error) {
	var found [][]byte
	tried := 0
	for at := next(pdf, 0, objectMark); at >= 0; {
		dict, end := readDictionary(pdf, at+len(objectMark))
		if dict.is("Type", "XRef") && dict.has("Encrypt") {
			return nil, protected()
		}
		raw, after, whole := body(pdf, dict, end)
		at = next(pdf, after, objectMark)
		if !dict.isAttachment() {
			continue
		}
		if !whole {
			return nil, damaged()
		}
		if tried++; tried > maxTried {
			return nil, tooLarge("More than %d files are attached to this PDF. Send the signed .json file itself.", maxTried)
		}
		data, err := unpack(dict, raw)
		if err != nil {
			return nil, err
		}
		if data == nil || slices.ContainsFunc(found, func(f []byte) bool { return bytes.Equal(f, data) }) {
			continue
		}
		if len(found) == maxAttached {
			return nil, tooLarge("More than %d JSON files are attached to this PDF. Send the one that counts by itself.", maxAttached)
		}
		found = append(found, data)
	}
	return found, nil
}

// isAttachment goes by ISO 32000-1, table 45, where the type is optional.
func (d dictionary) isAttachment() bool {
	return d.is("Type", "EmbeddedFile") || !d.has("Type") && d.has("Params")
}

// body gives the bytes between "stream" and "endstream" after a dictionary and where to read on. An object without a stream has none.
// The length that the dictionary states is believed only where "endstream" follows it.
func body(pdf []byte, dict dictionary, end int) (raw []byte, after int, whole bool) {
	start := skipBlank(pdf, end)
	if dict == nil || !bytes.HasPrefix(pdf[start:], streamMark) {
		return nil, start, false
	}
	start = skipLineEnd(pdf, start+len(streamMark))
	if n, said := dict.number("Length"); said && n <= len(pdf)-start {
		if stop := skipLineEnd(pdf, start+n); bytes.HasPrefix(pdf[stop:], streamEnd) {
			return pdf[start : start+n], stop, true
		}
	}
	stop := next(pdf, start, streamEnd)
	if stop < 0 {
		return nil, len(pdf), false
	}
	return withoutLineEnd(pdf[start:stop]), stop, true
}

func skipLineEnd(pdf []byte, at int) int {
	if at < len(pdf) && pdf[at] == '\r' {
		at++
	}
	if at < len(pdf) && pdf[at] == '\n' {
		at++
	}
	return at
}

// withoutLineEnd takes off the one line end that stands before "endstream" and is not part of the stream.
func withoutLineEnd(b []byte) []byte {
	b = bytes.TrimSuffix(b, []byte("\n"))
	return bytes.TrimSuffix(b, []byte("\r"))
}

// unpack gives the content of an attached file if it is a JSON object, and nothing if it is another kind of file.
func unpack(dict dictionary, raw []byte) ([]byte, error) {
	var r io.Reader = bytes.NewReader(raw)
	switch {
	case dict.has("DecodeParms") || dict.has("F"):
		return nil, nil
	case dict.is("Filter", "FlateDecode"):
		z, err := zlib.NewReader(r)
		if err != nil {
			return nil, damaged()
		}
		r = z
	case dict.has("Filter"):
		return nil, nil
	}
	return readJSON(r)
}

// readJSON looks at the beginning first, so that a large file of another kind is not unpacked at all.
func readJSON(r io.Reader) ([]byte, error) {
	head := make([]byte, 64)
	n, err := io.ReadFull(r, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, damaged()
	}
	head = head[:n]
	if !bytes.HasPrefix(bytes.TrimLeft(head, " \t\r\n"), []byte("{")) {
		return nil, nil
	}
	rest, err := io.ReadAll(io.LimitReader(r, MaxAttachment+1-int64(n)))
	if n+len(rest) > MaxAttachment {
		return nil, tooLarge("A file attached to this PDF has more than %d bytes. Send the signed .json file itself.", MaxAttachment)
	}
	data := append(head, rest...)
	if err != nil || !json.Valid(data) {
		return nil, damaged()
	}
	return data, nil
}
