package demo

import (
	"fmt"
	"math/rand/v2"
	"time"

	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// knownAbsences belong to stories. ToAt is not included.
var knownAbsences = []struct {
	name     string
	kind     g.UnavailabilityKind
	from, to string
	told     string
	reason   string // for HR alone
}{
	{"Meera Chandrasekar-Holt", g.Leave, "2024-05-14 00:00", "2025-02-18 00:00", "2024-04-02 10:00", "parental leave"},
	{"Greta Halvorsby", g.Leave, "2025-03-24 00:00", "2026-08-03 00:00", "2025-01-13 10:00", "parental leave"},
	{"Beatriz Anjos-Teague", g.Leave, "2025-06-02 00:00", "2026-08-03 00:00", "2025-03-17 10:00", "unpaid leave, as agreed"},
	{"Rosalind Taumata-Fenn", g.NotForRescue, "2025-03-24 00:00", "2025-05-03 00:00", "2025-03-24 08:10", "a note of the company's doctor, kept by HR"},
	{"Hamid Rostami-Gale", g.Leave, "2025-06-09 00:00", "2025-06-21 00:00", "2025-03-03 09:00", ""},
	{"Bashir Omondi-Clay", g.Leave, "2025-06-09 00:00", "2025-06-14 00:00", "2025-03-03 09:05", ""},
	{"Astrid Munkelby", g.Course, "2025-06-11 06:00", "2025-06-11 18:00", "2025-05-02 09:10", ""},
	{"Saoirse Valkonen", g.Leave, "2025-05-05 00:00", "2025-05-10 00:00", "2025-02-10 09:00", ""},

	// Halves of crews in the storm that are one short, and one that becomes so in the middle of the morning.
	{"Mateus Quillard", g.Sick, "2025-01-21 05:20", "2025-01-22 00:00", "2025-01-21 05:25", ""},
	{"Zofia Karlowitz-Bay", g.Sick, "2025-01-23 10:00", "2025-01-25 00:00", "2025-01-23 10:05", ""},
	{"Jamal Forrester-Iyo", g.Sick, "2025-01-24 05:20", "2025-01-26 00:00", "2025-01-24 05:25", ""},
	// Two of S1 are away on the day on which S2 is asked for somebody, and one of S2.
	{"Kofi Starling-Byrd", g.Sick, "2025-04-24 05:30", "2025-04-26 00:00", "2025-04-24 05:40", ""},
	{"Ines Barroso-Lind", g.Leave, "2025-04-21 00:00", "2025-04-28 00:00", "2025-02-03 09:00", ""},
	{"Zofia Karlowitz-Bay", g.Leave, "2025-04-21 00:00", "2025-04-26 00:00", "2025-02-03 09:10", ""},
	// On the day after the demonstration V1 has nobody to spare.
	{"Maren Oduya", g.Leave, "2025-06-12 00:00", "2025-06-14 00:00", "2025-03-10 09:00", ""},
	{"Lewis Achterberg", g.Course, "2025-06-12 00:00", "2025-06-13 00:00", "2025-05-12 09:00", ""},
}

// needed are the days on which a story needs a crew as it is, whatever chance would have drawn.
var needed = []struct {
	crew     g.CrewID
	from, to string
}{
	{"Q1", "2024-11-05", "2024-11-22"}, {"S3", "2024-11-18", "2024-11-18"}, {"V5", "2024-11-05", "2024-11-14"}, {"V5", "2025-03-08", "2025-03-09"},
	{"D1", "2025-04-02", "2025-04-03"}, {"Q1", "2025-04-08", "2025-04-08"}, {"S1", "2025-04-24", "2025-04-24"}, {"S2", "2025-04-24", "2025-04-24"},
	{"S2", "2025-05-06", "2025-05-06"}, {"Q2", "2025-01-15", "2025-01-15"}, {"Q2", "2025-01-30", "2025-01-30"}, {"Q2", "2024-09-17", "2024-09-20"},
	{"S2", "2025-04-02", "2025-04-02"}, {"V6", "2025-04-03", "2025-04-03"},
}

// absences notes leave and sickness: two weeks in summer, one at the turn of the year, one in spring, and a few days sick now and then.
// Nobody is away on a day on which they practised, nor in the week of the demonstration beyond what the stories say.
func (p *player) absences() {
	for _, a := range knownAbsences {
		form := training.UnavailableForm{WorkerID: p.worker(a.name), Kind: a.kind, FromAt: p.instant(a.from), ToAt: p.instant(a.to), Reason: a.reason}
		p.tellAt(p.at(a.told), func() { enter(p, colette, p.Desk.SetUnavailable, form) })
		if a.kind.Absent() {
			p.missing(a.name, p.dayOf(p.at(a.from)), p.dayOf(p.at(a.to)))
		}
	}
	busy := practiceDays()
	for _, c := range crews {
		for _, name := range c.names() {
			p.yearOf(name, busy[name])
		}
	}
}

func (p *player) yearOf(name string, busy map[g.Date]bool) {
	chance := p.chance("absences " + name)
	for _, weeks := range []struct {
		year  int
		month time.Month
		spread,
		days int
	}{{2024, time.March, 6, 7}, {2024, time.July, 7, 14}, {2024, time.December, 2, 7}, {2025, time.March, 9, 7}, {2025, time.July, 7, 14}, {2025, time.December, 2, 7}} {
		monday := firstMonday(weeks.year, weeks.month).AddDays(7 * chance.IntN(weeks.spread))
		p.away(name, g.Leave, monday, weeks.days, busy, monday.AddDays(-100))
	}
	for range chance.IntN(4) {
		p.sick(name, busy, chance)
	}
}

func (p *player) sick(name string, busy map[g.Date]bool, chance *rand.Rand) {
	const days = 500 // from 1 Jan 2024 to the middle of May 2025
	first := g.MustDate("2024-01-08").AddDays(chance.IntN(days))
	p.away(name, g.Sick, first, 1+chance.IntN(4), busy, first)
}

// away notes an absence of whole days unless somebody practised in it, it lies over a long one, or in the week of the demonstration.
func (p *player) away(name string, kind g.UnavailabilityKind, first g.Date, days int, busy map[g.Date]bool, told g.Date) {
	demonstration := g.MustDate("2025-06-09")
	for d := first; d < first.AddDays(days); d++ {
		if busy[d] || d >= demonstration && d < demonstration+7 {
			return
		}
	}
	p.missing(name, first, first.AddDays(days))
	form := training.UnavailableForm{WorkerID: p.worker(name), Kind: kind, FromAt: g.InstantOf(first.Start(p.Zone)), ToAt: g.InstantOf(first.AddDays(days).Start(p.Zone))}
	p.tell(told.Start(p.Zone).Add(7*time.Hour), fmt.Sprint("away ", name, first), func() { enter(p, colette, p.Desk.SetUnavailable, form) })
}

// missing remembers on which days somebody is not there to sign; to is not one of them.
func (p *player) missing(name string, from, to g.Date) {
	if p.gone[name] == nil {
		p.gone[name] = map[g.Date]bool{}
	}
	for d := from; d < to; d++ {
		p.gone[name][d] = true
	}
}

func firstMonday(year int, month time.Month) g.Date {
	d := g.NewDate(year, month, 1)
	for d.Weekday() != time.Monday {
		d++
	}
	return d
}

// practiceDays lists the days on which each person practises or is away for long, by the tables.
func practiceDays() map[string]map[g.Date]bool {
	out := map[string]map[g.Date]bool{}
	add := func(day string, names ...string) {
		for _, name := range names {
			if out[name] == nil {
				out[name] = map[g.Date]bool{}
			}
			out[name][g.MustDate(day[:10])] = true
		}
	}
	for _, c := range refreshers {
		add(c.start, append(c.everyone(), c.partner)...)
	}
	for _, o := range own {
		add(o.start, o.lead, o.second, o.watching)
	}
	for _, d := range fieldDrills {
		add(d.start, d.lead, d.second)
	}
	for _, n := range needed {
		for d := g.MustDate(n.from); d <= g.MustDate(n.to); d++ {
			add(d.String(), crewOf(n.crew).names()...)
		}
	}
	for _, c := range crews {
		for d := stormFrom; d <= stormTo; d++ {
			add(d.String(), c.names()...)
		}
	}
	add("2024-10-27", crewOf("V5").names()...)
	add("2025-03-30", crewOf("V5").names()...)
	add("2024-11-18", wronglyPassed...)
	add("2024-10-14", tomasz)
	add("2024-01-09", onT19...)
	add("2025-01-28", onT19...)
	add("2024-10-22", senior, "Declan Szymborek")
	add("2024-12-10", "Yara Ilincic", "Desmond Pikethorne", "Aroha Mitcheldean", "Nils Overgaard-Smythe", "Farah Quayson", "Elio Brandeis-Moke", gwen)
	add("2025-02-18", "Luca Ferrantino-Ware", "Sunniva Ekdahl-Rix")
	add("2025-02-25", "Luca Ferrantino-Ware", "Sunniva Ekdahl-Rix")
	add("2025-06-24", crewOf("V2").names()...)
	for _, a := range knownAbsences {
		for d := g.MustDate(a.from[:10]); d <= g.MustDate(a.to[:10]); d++ {
			add(d.String(), a.name)
		}
	}
	return out
}
