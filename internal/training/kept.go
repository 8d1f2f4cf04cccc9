package training

import (
	"reflect"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// kept is a form in which every worker stands by the id under which the person is found, so that somebody who was entered twice is one
// person for the rules about who may not sign what. What merges people keeps the ids as they are.
func kept[T any](s *store.Store, f form[T]) form[T] {
	if _, merges := any(f).(MergeForm); merges {
		return f
	}
	v := reflect.New(reflect.TypeOf(f)).Elem()
	v.Set(reflect.ValueOf(f))
	if !keepIDs(s, v) {
		return f
	}
	return v.Interface().(form[T])
}

var workerID = reflect.TypeFor[groundhand.WorkerID]()

// keepIDs puts kept ids in place of others and says whether there were any. Lists are copied before they are changed: they are the caller's.
func keepIDs(s *store.Store, v reflect.Value) (changed bool) {
	switch {
	case v.Type() == workerID:
		id := groundhand.WorkerID(v.String())
		if is := s.Kept(id); is != id {
			v.SetString(string(is))
			return true
		}
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				changed = keepIDs(s, v.Field(i)) || changed
			}
		}
	case v.Kind() == reflect.Slice && (v.Type().Elem() == workerID || v.Type().Elem().Kind() == reflect.Struct):
		own := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		reflect.Copy(own, v)
		for i := range own.Len() {
			changed = keepIDs(s, own.Index(i)) || changed
		}
		if changed {
			v.Set(own)
		}
	}
	return changed
}
