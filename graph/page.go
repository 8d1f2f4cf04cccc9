package graph

import (
	"cmp"
	"context"
	"slices"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// largestPage bounds a page; lists wider than that are streamed as files, not asked through GraphQL.
const largestPage = 200

// page reads one page of standing rows and where it goes on. The cursor is the id of the last row.
func page[T, E any](ctx context.Context, s *store.Store, first *int, after *string, edge func(T) (E, string)) ([]E, *generated.PageInfo, error) {
	n, err := pageSize(first)
	if err != nil {
		return nil, nil, err
	}
	rows, more, err := store.Page[T](ctx, s, store.PageOf{First: n, After: or(after), Standing: true})
	if err != nil {
		return nil, nil, err
	}
	edges, info := edgesOf(rows, more, edge)
	return edges, info, nil
}

// cut makes a page of rows that are at hand, sorted by id.
func cut[T, E any](rows []T, first *int, after *string, edge func(T) (E, string)) ([]E, *generated.PageInfo, error) {
	n, err := pageSize(first)
	if err != nil {
		return nil, nil, err
	}
	for len(rows) > 0 {
		if _, id := edge(rows[0]); id > or(after) {
			break
		}
		rows = rows[1:]
	}
	edges, info := edgesOf(rows[:min(n, len(rows))], len(rows) > n, edge)
	return edges, info, nil
}

func edgesOf[T, E any](rows []T, more bool, edge func(T) (E, string)) ([]E, *generated.PageInfo) {
	edges, info := make([]E, len(rows)), &generated.PageInfo{HasNextPage: more}
	for i, row := range rows {
		var cursor string
		edges[i], cursor = edge(row)
		info.EndCursor = &cursor
	}
	return edges, info
}

// pageSize is how many rows were asked for; 50 where nothing was said.
func pageSize(first *int) (int, error) {
	if first == nil {
		return 50, nil
	}
	if *first < 1 || *first > largestPage {
		return 0, groundhand.Invalid("first", "Ask for 1 to %d at a time; go on with after.", largestPage)
	}
	return *first, nil
}

// listed is a list that is empty rather than missing: null says that it was refused.
func listed[T any](rows []T, err error) ([]T, error) {
	if err != nil {
		return nil, err
	}
	return append([]T{}, rows...), nil
}

// byIDs are the rows that are wanted, sorted by id, as cut wants them.
func byIDs[T any](rows []T, idOf func(T) groundhand.EntryID, want func(T) bool) []T {
	out := only(rows, want)
	slices.SortFunc(out, func(a, b T) int { return cmp.Compare(idOf(a), idOf(b)) })
	return out
}

// only are the rows that are wanted.
func only[T any](rows []T, want func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(rows), func(row T) bool { return !want(row) })
}

// each converts every row; none is an empty list.
func each[T, U any](rows []T, convert func(T) U) []U {
	out := make([]U, len(rows))
	for i, row := range rows {
		out[i] = convert(row)
	}
	return out
}

// or is the value, or the zero value where nothing was given.
func or[T any](v *T) T {
	if v == nil {
		var none T
		return none
	}
	return *v
}

// someOrNil is nil for the zero value, for fields that are null when there is nothing.
func someOrNil[T comparable](v T) *T {
	var none T
	if v == none {
		return nil
	}
	return &v
}

// texts turns ids into plain text.
func texts[S ~string](ids []S) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}

// named turns plain text into ids.
func named[S, T ~string](ids []T) []S {
	out := make([]S, len(ids))
	for i, id := range ids {
		out[i] = S(id)
	}
	return out
}
