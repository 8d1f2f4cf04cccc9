// Package scalar carries the days and moments of the vocabulary through GraphQL: Date as YYYY-MM-DD, DateTime as RFC 3339.
package scalar

import (
	"io"
	"strconv"

	"github.com/99designs/gqlgen/graphql"

	"groundhand/internal/groundhand"
)

// MarshalDate writes YYYY-MM-DD, or null for no day.
func MarshalDate(d groundhand.Date) graphql.Marshaler { return text(d.String()) }

// UnmarshalDate reads YYYY-MM-DD and refuses anything else with a coded error that says how to write it. Null is no day; where a day is
// needed, GraphQL itself refuses null.
func UnmarshalDate(v any) (groundhand.Date, error) {
	if v == nil {
		return 0, nil
	}
	s, ok := v.(string)
	if !ok {
		return 0, groundhand.Invalid("", "A day is text like \"2025-06-12\".")
	}
	return groundhand.ParseDate(s)
}

// MarshalDateTime writes RFC 3339 in UTC, or null for no moment.
func MarshalDateTime(i groundhand.Instant) graphql.Marshaler { return text(i.String()) }

// UnmarshalDateTime reads RFC 3339 with an offset. Null is no moment; where one is needed, GraphQL itself refuses null.
func UnmarshalDateTime(v any) (groundhand.Instant, error) {
	var i groundhand.Instant
	if v == nil {
		return i, nil
	}
	s, ok := v.(string)
	if !ok || s == "" {
		return 0, groundhand.Invalid("", "A moment is text like \"2025-06-12T06:00:00+01:00\".")
	}
	err := i.UnmarshalText([]byte(s))
	return i, err
}

func text(s string) graphql.Marshaler {
	if s == "" {
		return graphql.Null
	}
	return graphql.WriterFunc(func(w io.Writer) { _, _ = io.WriteString(w, strconv.Quote(s)) })
}

// MarshalStage writes a stage mark by its name, S0 to S10.
func MarshalStage(s groundhand.Stage) graphql.Marshaler { return text("S" + strconv.Itoa(int(s))) }

// UnmarshalStage reads S0 to S10.
func UnmarshalStage(v any) (groundhand.Stage, error) {
	name, _ := v.(string)
	for s := groundhand.S0; s <= groundhand.S10; s++ {
		if name == "S"+strconv.Itoa(int(s)) {
			return s, nil
		}
	}
	return 0, groundhand.Invalid("", "Stage marks run from S0 to S10.")
}
