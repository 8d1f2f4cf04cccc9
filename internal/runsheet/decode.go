package runsheet

import "groundhand/internal/strictjson"

// largest is how much JSON will be read in one go, in bytes; a hundred people who were all paired before take less than one megabyte.
const largest = 4 << 20

// Decode reads a problem in the drill-sheet-problem/1 form. The error is a groundhand.Errors with every fault under the path of its field,
// as "people[3].needs.lead".
func Decode(data []byte) (Problem, error) {
	f := strictjson.NewForm()
	r, ok := f.Open(data, ProblemFormat, largest)
	if !ok {
		return Problem{}, f.Err()
	}
	p := Problem{Name: r.Label("name"), MaxRuns: r.Whole("max_runs"), People: strictjson.Records(r, "people", true, readPerson),
		PairedBefore: strictjson.Records(r, "paired_before", false, readCouple)}
	r.Done()
	p.validate(f)
	return p, f.Err()
}

func readPerson(r strictjson.Record) Person {
	out := Person{ID: r.Text("id"), Crew: r.Label("crew")}
	if v, path, given := r.Value("needs", false, true); given {
		needs := r.Object(path, v)
		out.Needs = Needs{Lead: needs.WholeOr("lead", 0), Second: needs.WholeOr("second", 0), Lone: needs.WholeOr("lone", 0)}
		needs.Done()
	}
	return out
}

func readCouple(r strictjson.Record) Couple {
	return Couple{A: r.Text("a"), B: r.Text("b"), Times: r.Whole("times")}
}

// DecodeSheet reads a sheet in the drill-sheet/1 form. Only the runs are needed; claimed is false when no objective is given. Fields that
// other planners add are passed over. Whether the runs make sense is for Check to say.
func DecodeSheet(data []byte) (s Sheet, claimed bool, err error) {
	f := strictjson.NewForm()
	r, ok := f.Open(data, SheetFormat, largest)
	if !ok {
		return Sheet{}, false, f.Err()
	}
	s.Problem = r.Label("problem")
	s.Runs = strictjson.List(r, "runs", true, readRun)
	if v, path, given := r.Value("objective", false, true); given {
		s.Objective, claimed = readFigures(r.Object(path, v)), true
	}
	return s, claimed, f.Err()
}

func readRun(r strictjson.Record, path string, v any) Run {
	one := r.Object(path, v)
	return Run{Lead: one.Label("lead"), Second: one.Label("second"), Lone: one.Label("lone"), Timekeeper: one.Label("timekeeper")}
}

func readFigures(r strictjson.Record) Figures {
	var v [6]int
	for i, name := range LevelNames {
		v[i] = r.Whole(name)
	}
	return figuresOf(v)
}
