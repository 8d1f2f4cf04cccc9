package training

import (
	"reflect"

	"groundhand/internal/groundhand"
)

// correctionWords are what a form says about a correction besides what is corrected.
type correctionWords struct {
	kind              groundhand.CorrectionKind
	because           string
	askedBy, agreedBy groundhand.WorkerID
}

// check asks for a second person where the correction says who somebody is or who could not sign.
func (w correctionWords) check(c *fields) {
	c.maybeID("askedBy", string(w.askedBy))
	c.maybeID("agreedBy", string(w.agreedBy))
	if w.agreedBy == "" && (w.kind == groundhand.IdentityMistaken || w.kind == groundhand.ValidityMistaken) {
		c.wrong("agreedBy", "Say who agreed; a correction of the kind %s takes two people.", w.kind)
	}
}

// correcting notes what is said about the correction of an entry, or with no entry about all of the form.
func (in *entering) correcting(id groundhand.EntryID, w correctionWords) {
	if in.saidOf == nil {
		in.saidOf = map[groundhand.EntryID]correctionWords{}
	}
	in.said, in.saidOf[id] = w, w
	known[groundhand.Worker](in, "worker", at("askedBy", w.askedBy), at("agreedBy", w.agreedBy))
	if w.agreedBy != "" && w.agreedBy == in.by.WorkerID {
		in.breaks(groundhand.OtherName, w.agreedBy, groundhand.CodeForbidden, "agreedBy", "Whoever corrects does not agree to it as well; somebody else has to.")
	}
}

// beside puts a Correction beside a row that takes the place of another one, or takes one back.
func (in *entering) beside(row any) {
	if w, is := row.(*groundhand.Withdrawal); is {
		in.corrected(w.WithdrawsID, w.ID)
		return
	}
	r, is := row.(interface{ Told() *groundhand.Recorded })
	if is && r.Told().ReplacesID != "" {
		in.corrected(r.Told().ReplacesID, groundhand.EntryID(reflect.ValueOf(row).Elem().FieldByName("ID").String()))
	}
}

func (in *entering) corrected(old, by groundhand.EntryID) {
	w, of := in.saidOf[old]
	if !of {
		w = in.said
	}
	c := groundhand.Correction{ID: entryID(in), Recorded: in.told(Entry{Because: w.because}, When{At: in.now}),
		ReplacedID: old, ByID: by, Kind: w.kind, AskedByID: w.askedBy, AgreedByID: w.agreedBy}
	if c.AskedByID == "" {
		c.AskedByID = in.by.WorkerID
	}
	in.corrections = append(in.corrections, c)
	add(in, c)
}

// onlyWho refuses what HR says about an entry besides whom it is about. Both are the entry, before and after.
func (in *entering) onlyWho(same bool) {
	if in.by.Capacity == groundhand.HR && !same {
		in.Add(groundhand.CodeForbidden, "replaces", "HR corrects whom an entry is about; everything else has to stay as it is.")
	}
}

// identifies says that HR corrects whom an entry is about, for which it needs no right to enter such.
func (e Entry) identifies(by groundhand.Account) bool {
	return by.Capacity == groundhand.HR && e.Kind == groundhand.IdentityMistaken && e.Replaces != ""
}

// sameButWho compares two entries as if both were about one worker and told by one author.
func sameButWho[T any](old, now T) bool {
	blank := func(row T) T {
		v := reflect.ValueOf(&row).Elem()
		for _, name := range []string{"ID", "WorkerID", "RunPartID"} {
			if f := v.FieldByName(name); f.IsValid() {
				f.SetZero()
			}
		}
		for i := range v.NumField() {
			if f := v.Field(i); f.Kind() == reflect.Slice && f.Len() == 0 {
				f.SetZero()
			}
		}
		told := v.Addr().Interface().(interface{ Told() *groundhand.Recorded }).Told()
		*told = groundhand.Recorded{HappenedOn: told.HappenedOn, HappenedAt: told.HappenedAt}
		return row
	}
	return reflect.DeepEqual(blank(old), blank(now))
}
