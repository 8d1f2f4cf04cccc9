// Package demo plays an invented company, the region of Halverra, through the same forms and rules as real data, with a fixed calendar
// and seed. Every name, place and figure is invented; any likeness is accidental. Facts only are played: each status is then computed.
//
//	company.go   yards, devices, kits, crews and people as plain tables
//	calendar.go  who practised when, first-aid classes, field drills
//	story.go     the days on which something goes wrong, and how it was found
//	pace.go      how long the stages of a run take
//	play.go      the player: every act has a moment and is played in that order
//
// To add to the story, add to a table or write one more story; each draws its own chance, so what stood before stays as it was.
package demo
