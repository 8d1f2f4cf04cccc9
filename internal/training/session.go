package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// SessionForm books a session with the people who are to come. A correction of a session states all its bookings again.
type SessionForm struct {
	Entry
	YardID     groundhand.YardID
	StartAt    groundhand.Instant
	EndAt      groundhand.Instant
	Methods    groundhand.List // at least one
	FamilyID   groundhand.FamilyID
	DeviceID   groundhand.DeviceID
	KitID      groundhand.KitID
	AssessorID groundhand.WorkerID
	Announced  bool
	Seats      int // 1 to 60
	MaxRuns    int // 0: no limit set
	Controls   string
	Bookings   []SeatForm
}

// SeatForm promises a seat to a worker.
type SeatForm struct {
	WorkerID groundhand.WorkerID
	Renews   groundhand.List // methods to renew; empty: goes along with a crew mate
}

// Booked is a session with the seats promised when it was booked.
type Booked struct {
	Session  groundhand.Session
	Bookings []groundhand.Booking
}

// BookSession enters a session and its bookings. Nobody is in two sessions at a time.
func (d *Desk) BookSession(ctx context.Context, by groundhand.Account, key string, f SessionForm) (Booked, error) {
	return once(ctx, d, by, key, act{name: "bookSession", may: access.BookSession}, f, bookedAgain)
}

func (f SessionForm) check(c *fields) {
	f.Entry.check(c)
	c.id("yardId", string(f.YardID))
	c.span("startAt", "endAt", f.StartAt, f.EndAt)
	if f.EndAt > f.StartAt && f.EndAt-f.StartAt > 24*60*60*1000 {
		c.wrong("endAt", "A session lasts a day at most; book one for each day.")
	}
	c.methods("methods", f.Methods)
	if len(f.Methods) == 0 {
		c.wrong("methods", "Say which methods are to be practised.")
	}
	c.maybeID("familyId", string(f.FamilyID))
	c.maybeID("deviceId", string(f.DeviceID))
	c.maybeID("kitId", string(f.KitID))
	c.maybeID("assessorId", string(f.AssessorID))
	c.number("seats", f.Seats, 1, mostSeats)
	c.number("maxRuns", f.MaxRuns, 0, mostRuns)
	c.remark("controls", f.Controls)
	f.checkSeats(c)
}

func (f SessionForm) checkSeats(c *fields) {
	if !c.atMost("bookings", len(f.Bookings), mostSeats) {
		return
	}
	if len(f.Bookings) > f.Seats {
		c.wrong("bookings", "%d people do not fit into %d seats.", len(f.Bookings), f.Seats)
	}
	seen := map[groundhand.WorkerID]bool{}
	for i, seat := range f.Bookings {
		c.within("bookings", i, func() {
			seat.check(c)
			if seen[seat.WorkerID] && seat.WorkerID != "" {
				c.wrong("workerId", "This worker is booked twice.")
			}
		})
		seen[seat.WorkerID] = true
	}
}

func (s SeatForm) check(c *fields) {
	c.id("workerId", string(s.WorkerID))
	c.methods("renews", s.Renews)
}

func (f SessionForm) enter(in *entering) Booked {
	old, _ := correct[groundhand.Session](in, "session", f.Entry)
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	known[groundhand.Kit](in, "kit", at("kitId", f.KitID))
	known[groundhand.Worker](in, "worker", f.people()...)
	s := groundhand.Session{
		ID: groundhand.SessionID(in.tx.NewID()), Recorded: in.told(f.Entry, When{At: f.StartAt}), YardID: f.YardID, StartAt: f.StartAt,
		EndAt: f.EndAt, Methods: f.Methods, FamilyID: in.familyOf(f.FamilyID, f.DeviceID, When{At: f.StartAt}.day(&in.fields)), DeviceID: f.DeviceID, KitID: f.KitID,
		AssessorID: f.AssessorID, Announced: f.Announced, Seats: f.Seats, MaxRuns: f.MaxRuns, Controls: f.Controls,
		PlanID: old.PlanID, Slot: old.Slot, // a session that is moved stays that of its plan
	}
	booked := in.book(s, f.Bookings, "bookings")
	add(in, booked.Session)
	add(in, booked.Bookings...)
	result(in, s.ID)
	for _, b := range booked.Bookings {
		result(in, b.ID)
	}
	return booked
}

func (f SessionForm) people() []ref {
	out := []ref{at("assessorId", f.AssessorID)}
	for i, seat := range f.Bookings {
		out = append(out, at(index("bookings", i)+".workerId", seat.WorkerID))
	}
	return out
}

// book makes the bookings of a session and refuses those whose worker is in another session at the time.
func (in *entering) book(s groundhand.Session, seats []SeatForm, field string) Booked {
	told := s.Recorded
	told.ReplacesID, told.Because = "", ""
	out := Booked{Session: s}
	for i, seat := range seats {
		in.freeFor(s, seat.WorkerID, index(field, i)+".workerId")
		out.Bookings = append(out.Bookings, groundhand.Booking{ID: entryID(in), Recorded: told, SessionID: s.ID, WorkerID: seat.WorkerID, Renews: seat.Renews})
	}
	return out
}

// freeFor refuses a booking of a worker who is in another session at the time, or in this one already.
func (in *entering) freeFor(s groundhand.Session, w groundhand.WorkerID, field string) {
	bookings, err := store.FindStanding[groundhand.Booking](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{w})
	if in.failed(err) || len(bookings) == 0 {
		return
	}
	ids := make([]groundhand.SessionID, len(bookings))
	for i, b := range bookings {
		ids[i] = b.SessionID
	}
	sessions, err := store.FindStanding[groundhand.Session](in.ctx, in.tx, store.ByID, ids)
	if in.failed(err) {
		return
	}
	for _, other := range sessions {
		if string(other.ID) != string(s.ReplacesID) && other.StartAt < s.EndAt && s.StartAt < other.EndAt {
			in.Add(groundhand.CodeConflict, field, "This worker has a seat in a session from %s to %s; nobody is in two sessions at a time.",
				in.clock(other.StartAt), in.clock(other.EndAt))
		}
	}
}

func bookedAgain(ctx context.Context, s *store.Store, ids []string) (Booked, error) {
	session, err := store.Get[groundhand.Session](ctx, s, ids[0])
	if err != nil {
		return Booked{}, err
	}
	bookings, err := manyAgain[groundhand.Booking](ctx, s, ids[1:])
	return Booked{session, bookings}, err
}

// manyAgain reads things again in the order in which they were made.
func manyAgain[T any](ctx context.Context, s *store.Store, ids []string) ([]T, error) {
	var out []T
	for _, id := range ids {
		row, err := store.Get[T](ctx, s, id)
		if err != nil {
			return nil, err
		}
		out = append(out, row)
	}
	return out, nil
}

// BookingForm promises one more seat in a session that is booked.
type BookingForm struct {
	Entry
	SessionID groundhand.SessionID
	WorkerID  groundhand.WorkerID
	Renews    groundhand.List
}

// BookSeat enters one booking. It is a Conflict when the session is full or the worker is elsewhere.
func (d *Desk) BookSeat(ctx context.Context, by groundhand.Account, key string, f BookingForm) (groundhand.Booking, error) {
	return once(ctx, d, by, key, act{name: "bookSeat", may: access.BookSession}, f, one[groundhand.Booking])
}

func (f BookingForm) check(c *fields) {
	f.Entry.check(c)
	c.id("sessionId", string(f.SessionID))
	SeatForm{f.WorkerID, f.Renews}.check(c)
}

func (f BookingForm) enter(in *entering) groundhand.Booking {
	old, _ := correct[groundhand.Booking](in, "booking", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	b := groundhand.Booking{ID: entryID(in), SessionID: f.SessionID, WorkerID: f.WorkerID, Renews: f.Renews}
	if s, ok := fetch[groundhand.Session](in, "session", at("sessionId", f.SessionID)); ok {
		b.Recorded = in.told(f.Entry, When{At: s.StartAt})
		in.seatFree(s, old)
		if old.SessionID != s.ID || old.WorkerID != f.WorkerID {
			in.freeFor(s, f.WorkerID, "workerId")
		}
	}
	add(in, b)
	result(in, b.ID)
	return b
}

func (in *entering) seatFree(s groundhand.Session, old groundhand.Booking) {
	taken, err := store.FindStanding[groundhand.Booking](in.ctx, in.tx, store.BySession, []groundhand.SessionID{s.ID})
	if !in.failed(err) && len(taken) >= s.Seats && old.SessionID != s.ID {
		in.Add(groundhand.CodeConflict, "sessionId", "All %d seats of this session are taken.", s.Seats)
	}
}
