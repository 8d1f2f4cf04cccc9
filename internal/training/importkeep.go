package training

import (
	"strconv"
	"strings"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// notAccepted is why a row that could be taken was not.
const notAccepted = "Whoever imported the file did not choose this row."

// keepRows writes down every row of the file as it stood, with what became of it: whoever doubts an entry later can see what it was made
// of, and which rows were not believed.
func (im *importing) keepRows() {
	in := &entering{fields: fields{now: im.tx.Now(), zone: im.desk.roll.Zone()}, ctx: im.ctx, tx: im.tx, by: im.by}
	told := in.told(imported, When{At: in.now})
	became := im.outcomes()
	rows := make([]groundhand.ImportRow, len(im.sheet.Originals))
	for i, o := range im.sheet.Originals {
		rows[i] = became[o.Row]
		rows[i].ID, rows[i].Recorded = entryID(in), told
		rows[i].Digest, rows[i].FileName, rows[i].Sheet = im.seen.Columns.Digest, im.sheet.Name, im.sheet.Tab
		rows[i].RowNumber, rows[i].Headings, rows[i].Cells = o.Row, im.sheet.Headings, o.Cells
		rows[i].WorkerID = im.about(o, rows[i])
	}
	im.failed(store.Add(im.ctx, im.tx, rows...))
}

// outcomes says for every row what became of it.
func (im *importing) outcomes() map[int]groundhand.ImportRow {
	out := map[int]groundhand.ImportRow{}
	for _, row := range im.seen.New {
		out[row] = groundhand.ImportRow{Outcome: groundhand.RowTaken, EntryID: im.entries[row]}
	}
	for _, k := range im.seen.Known {
		out[k.Row] = groundhand.ImportRow{Outcome: groundhand.RowDuplicate, Problem: sameWords(k), EntryID: im.entryOf(k)}
	}
	im.refusedOutcomes(out)
	for _, l := range im.sheet.Lines() {
		if _, said := out[l.Row]; said {
			continue
		}
		k := KnownRow{l.Row, l.SameAs}
		if like := out[l.SameAs]; l.SameAs > 0 && like.EntryID != "" {
			out[l.Row] = groundhand.ImportRow{Outcome: groundhand.RowDuplicate, Problem: sameWords(k), EntryID: like.EntryID}
			continue
		}
		out[l.Row] = groundhand.ImportRow{Outcome: groundhand.RowLeftOut, Problem: notAccepted}
	}
	return out
}

// refusedOutcomes joins all that is wrong with a row, also of rows that nobody wanted to be written.
func (im *importing) refusedOutcomes(out map[int]groundhand.ImportRow) {
	why := map[int][]string{}
	said := map[exchange.Refusal]bool{}
	for _, list := range [][]exchange.Refusal{im.seen.Refusals, im.sheet.Refusals} {
		for _, r := range list {
			if !said[r] {
				said[r] = true
				why[r.Row] = append(why[r.Row], strings.TrimSpace(r.Letter+" "+r.Column)+": "+r.Message)
			}
		}
	}
	for row, all := range why {
		out[row] = groundhand.ImportRow{Outcome: groundhand.RowRefused, Problem: strings.Join(all, "\n")}
	}
}

func sameWords(k KnownRow) string {
	if k.SameAs > 0 {
		return "Row " + strconv.Itoa(k.SameAs) + " says the same."
	}
	return "It was in the records already."
}

func (im *importing) entryOf(k KnownRow) groundhand.EntryID {
	if k.SameAs > 0 {
		return im.entries[k.SameAs]
	}
	return im.entries[k.Row]
}

// about says whom a row is about, where that is known: a refused row about people may be about somebody else with the same number.
func (im *importing) about(o exchange.Original, r groundhand.ImportRow) groundhand.WorkerID {
	if im.sheet.Kind == exchange.People {
		return groundhand.WorkerID(r.EntryID)
	}
	return im.worker(o.Number)
}

// mostBroken bounds the attempts that are noted of one file.
const mostBroken = 1_000

// breaks collects signatures of a row that were refused because of who would have signed, as the forms of the desk do.
func (im *importing) breaks(broken []breach, where func(field string) (exchange.Line, string)) {
	for _, b := range broken {
		if len(im.broken) < mostBroken {
			line, _ := where("")
			b.message = "Row " + strconv.Itoa(line.Row) + ": " + b.message
			im.broken = append(im.broken, b)
		}
	}
}

// noted gives why an import was refused, after noting what its rows tried to sign. A preview tries nothing.
func (im *importing) noted(act groundhand.Act, refused error) error {
	if im == nil || im.err != nil || len(im.broken) == 0 || len(groundhand.Refusals(refused)) == 0 {
		return refused
	}
	return besides(refused, im.desk.note(im.ctx, im.by, act.Key, act.Name, im.broken))
}

// earlier is when this very file was imported before.
func (im *importing) earlier(digest string) groundhand.Instant {
	rows, _, err := store.Page[groundhand.ImportRow](im.ctx, im.tx, store.PageOf{First: 1, By: store.ByDigest, Keys: []string{digest}})
	if im.failed(err) || len(rows) == 0 {
		return 0
	}
	return rows[0].RecordedAt
}
