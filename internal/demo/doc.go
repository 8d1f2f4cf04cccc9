// Package demo plays an invented company, the region of Halverra, through the same forms and rules as real data, with a fixed calendar
// and seed. Every name, place and figure is invented; any likeness is accidental. Facts only are played: each status is then computed.
//
//	places.go    yards, roads, devices and kits as plain tables
//	company.go   crews and people as plain tables
//	calendar.go  who practised when, first-aid classes, field drills
//	story.go     the days on which something goes wrong, and how it was found
//	storm.go     the week of the storm: halves of crews, visitors, their intake; stormjobs.go its jobs
//	client.go    the client's job: certificates, one replaced and one withdrawn
//	past.go      the jobs of earlier days that a story hangs on
//	looks.go     the looks at kits and devices; defects.go what was out of service and came back
//	hired.go     the truck that nobody knows
//	booking.go   what lies ahead on the evening of the demonstration
//	pace.go      how long the stages of a run take
//	play.go      the player: every act has a moment and is played in that order
//
// To add to the story, add to a table or write one more story; each draws its own chance, so what stood before stays as it was.
package demo
