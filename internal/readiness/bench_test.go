package readiness_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// crowded is a crew of ten who have all lapsed, for two aloft and three rescuers, over a pool of people of many kinds: no two need count
// alike, and what they have begins and ends inside the night. Kits, devices, drills, windows and ways are offered too.
func crowded(pool, changes int) readiness.Question {
	r := rand.New(rand.NewPCG(1, 2))
	q := morning(aloft(2), func(q *readiness.Question) {
		q.Window = window("Europe/Dublin", "2026-06-10T18:00:00+01:00", "2026-06-11T06:00:00+01:00")
		q.Rules.CrewRescuers, q.People = 3, nil
	})
	for _, m := range q.Rules.Methods {
		q.Job.Methods[m.ID] = readiness.Yes
	}
	for i := range 10 {
		p := person(fmt.Sprintf("c%d", i))
		noCapability(&p)
		p.CanGoAloft = i < 8
		q.People = append(q.People, p)
	}
	q.Pool = &readiness.Pool{Target: readiness.Ready, MaxChanges: changes, MaxFixes: 10, Neighbours: who("Y2")}
	for i := range pool {
		p := drawn(r, fmt.Sprintf("p%d", i), q)
		q.Pool.People = append(q.Pool.People, readiness.PoolPerson{Person: p, Place: readiness.Place{Yard: "Y1", TravelMinutes: r.IntN(60)}})
	}
	offerRest(q)
	return q
}

func drawn(r *rand.Rand, id string, q readiness.Question) readiness.Person {
	p := person(id)
	p.Crew, p.Capabilities, p.CanGoAloft = "", nil, r.IntN(2) == 0
	p.OperatesLower = []readiness.YesNo{readiness.Yes, readiness.Yes, readiness.Yes, readiness.Unknown}[r.IntN(4)]
	for _, m := range q.Rules.Methods {
		if r.IntN(3) == 0 {
			continue
		}
		c := capability(m.ID, m.Roles[r.IntN(len(m.Roles))])
		c.State = []readiness.State{readiness.Current, readiness.Current, readiness.OnExtension}[r.IntN(3)]
		c.From = readiness.Edge{At: q.Window.From + groundhand.Instant(r.IntN(300)-270)*60_000}
		p.Capabilities = append(p.Capabilities, c)
	}
	if r.IntN(2) == 0 {
		p.FirstAid = nil
	}
	return p
}

func offerRest(q readiness.Question) {
	for i := range 4 {
		k, d := kit(), *q.Device
		k.ID, d.ID, d.Family = fmt.Sprintf("K%d", i), fmt.Sprintf("D%d", i), []string{"F1", "F2"}[i%2]
		place := readiness.Place{Yard: "Y2", TravelMinutes: 10 * i}
		q.Pool.Kits = append(q.Pool.Kits, readiness.PoolKit{ID: k.ID, Place: place, Kit: *k})
		q.Pool.Devices = append(q.Pool.Devices, readiness.PoolDevice{ID: d.ID, Place: place, Device: d, Kit: k})
	}
	for i := range 2 {
		shift := groundhand.Instant(i+1) * 3_600_000
		q.Pool.LaterWindows = append(q.Pool.LaterWindows, readiness.LaterWindow{ID: fmt.Sprintf("w%d", i), From: q.Window.From + shift, To: q.Window.To + shift})
		q.Pool.Drills = append(q.Pool.Drills, readiness.PoolDrill{ID: fmt.Sprintf("d%d", i), Assessor: "tom", Authorised: readiness.Yes, AssessorFreeFrom: q.Window.From - 36_000_000, AssessorFreeTo: q.Window.To,
			Method: "PAIR_KIT", Family: "F1", Role: readiness.Second, Start: q.Window.From - 7_200_000, Minutes: 45, Seats: 2, MinPeople: 2, People: who("c0", "c1", "c2", "c3")})
		q.Pool.OtherWays = append(q.Pool.OtherWays, readiness.OtherWay{ID: fmt.Sprintf("o%d", i), Job: readiness.JobChange{Buckets: []readiness.Bucket{{ID: "B1", People: i + 1}}}})
	}
}

func judgeOften(b *testing.B, q readiness.Question) time.Duration {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := readiness.Judge(q); err != nil {
			b.Fatal(err)
		}
	}
	return b.Elapsed() / time.Duration(b.N)
}

// The search by definition asks every set afresh.
func BenchmarkFixesOfTenOverForty(b *testing.B) {
	q := crowded(40, 2)
	each := judgeOften(b, q)
	start := time.Now()
	bruteForce(b, q)
	b.ReportMetric(float64(time.Since(start))/float64(each), "times-brute-force")
}

// Three changes out of two hundred people are more than the search by definition can do.
func BenchmarkFixesOfTenOverTwoHundred(b *testing.B) { judgeOften(b, crowded(200, 3)) }

func BenchmarkFixesOfTenOverTwoHundredConditional(b *testing.B) {
	q := crowded(200, 3)
	q.Pool.Target = readiness.Conditional
	for _, m := range who("LONE_KIT", "POLE_TOP") {
		q.Job.Methods[m] = readiness.Unknown
	}
	judgeOften(b, q)
}

func BenchmarkJudgeACrewOfEight(b *testing.B) {
	q := morning(aloft(2))
	for i := range 4 {
		q.People = append(q.People, good(fmt.Sprintf("x%d", i)))
	}
	each := judgeOften(b, q)
	start := time.Now()
	for range 100 {
		byHand(b, q)
	}
	b.ReportMetric(float64(time.Since(start))/100/float64(each), "times-verdict-by-hand")
}

// Two thousand crews of four to nine, some with something unknown, as on one morning.
func BenchmarkJudgeTheCrewsOfADay(b *testing.B) {
	var crews []readiness.Question
	for i := range 2000 {
		q := morning(aloft(1 + i%2))
		for j := range i % 6 {
			q.People = append(q.People, good(fmt.Sprintf("x%d", j)))
		}
		if i%5 == 0 {
			q.Kit.OnDevice = readiness.Unknown
		}
		crews = append(crews, q)
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, q := range crews {
			_, err := readiness.Judge(q)
			require.NoError(b, err)
		}
	}
}
