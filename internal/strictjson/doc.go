// Package strictjson reads the JSON files of the questions field by field: names that occur twice, unknown names, wrong kinds and missing
// fields are refused, all at once, each under the path of its field. It is pure.
package strictjson
