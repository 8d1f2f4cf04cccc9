// Package demo plays an invented company, the region of Halverra, through the same forms and rules as real data, with a fixed calendar
// and seed. Every name, place and figure is invented; any likeness is accidental. Facts only are played: each status is then computed.
package demo
