package competence

import "groundhand/internal/groundhand"

// Standing answers a question in full. The error is a *groundhand.Error: the question itself is faulty.
func (b *Book) Standing(question Question) (Answer, error) {
	q, a, see, err := b.glance(&question)
	if err != nil {
		return Answer{}, err
	}
	if q.note == "" {
		a.RestsOn, a.Refused = q.restsOn(a.Day), q.refusals()
	}
	a.ChangesOn = q.changesOn(a.Day, a.Standing, see)
	if !question.Course.From.IsZero() {
		a.Course = q.course(question.Course)
	}
	return a, nil
}

// Glance answers without what the answer rests on, what was refused and the course: enough for a roll call of many people.
func (b *Book) Glance(question Question) (Answer, error) {
	q, a, see, err := b.glance(&question)
	if err == nil {
		a.ChangesOn = q.changesOn(a.Day, a.Standing, see)
	}
	return a, err
}

// Course gives the standing at the close of every day of a period, both ends included, as spans in order; On, At and Course of the
// question do not matter.
func (b *Book) Course(question Question, p Period) ([]Span, error) {
	question.On, question.At, question.Course = p.From, 0, p
	q, err := b.inquire(&question)
	if err != nil {
		return nil, err
	}
	return q.course(p), nil
}

// glance opens the inquiry on the judged day.
func (b *Book) glance(question *Question) (*inquiry, Answer, sight, error) {
	q, err := b.inquire(question)
	if err != nil {
		return nil, Answer{}, sight{}, err
	}
	day, moment := b.judged(question)
	see := sight{q.known, moment, moment}
	q.turnTo(day, see)
	a := Answer{ID: question.ID, Day: day, Standing: q.word(day), Note: q.note, Line: q.lineID(), LastGoodDay: q.lastGoodDay()}
	if q.set != nil {
		a.RuleSet = q.set.ID
	}
	return q, a, see, nil
}

// judged is the local day asked about and the second up to which things are seen: a day is asked about at its close.
func (b *Book) judged(question *Question) (groundhand.Date, int64) {
	if !question.On.IsZero() {
		return question.On, endOf(question.On, b.zone)
	}
	second := seconds(question.At)
	return dayOf(second, b.zone), second
}
