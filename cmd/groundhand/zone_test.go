package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
)

func TestTheZoneOfTheMachineHasAName(t *testing.T) {
	t.Setenv("TZ", "Europe/Dublin")
	zone, err := zoneNamed(localZone)
	require.NoError(t, err)
	assert.Equal(t, "Europe/Dublin", zone.String(), "never Local: a file of facts names its zone")

	t.Setenv("TZ", ":America/New_York")
	zone, err = zoneNamed(localZone)
	require.NoError(t, err)
	assert.Equal(t, "America/New_York", zone.String())

	t.Setenv("TZ", "")
	zone, err = zoneNamed(localZone)
	require.NoError(t, err)
	assert.Equal(t, "UTC", zone.String(), "POSIX: an empty TZ is UTC")

	for _, wrong := range []string{"Nowhere/Land", "", "../../etc/passwd"} {
		_, err := zoneNamed(wrong)
		assert.ErrorContains(t, err, "time zone", wrong)
	}
}

func TestSweepingByHandWorksInTheMachinesZone(t *testing.T) {
	t.Setenv("TZ", "Europe/Dublin")
	flags := recordsFlags{DB: t.TempDir() + "/records.db", Zone: localZone}
	h, err := flags.begin(certificate.Options{})
	require.NoError(t, err)
	require.NoError(t, h.close())
	err = (&sweepCmd{recordsFlags: flags, On: "2025-06-12"}).Run()
	assert.ErrorContains(t, err, "rule set", "a company without rules is told so, and nothing about zones")
}
