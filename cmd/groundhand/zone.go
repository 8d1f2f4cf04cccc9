package main

import (
	"fmt"
	"os"
	"strings"
	"time"
)

// localZone is the setting that means the zone of the machine.
const localZone = "Local"

// zoneNamed finds a time zone. The zone of the machine is found by its name, because an exported answer names its zone and must give
// the same days anywhere; a machine that does not tell its zone's name is asked for it.
func zoneNamed(name string) (*time.Location, error) {
	if name == localZone {
		name = machineZone()
	}
	if name == "" {
		return nil, &exitError{exitFaulty, fmt.Errorf("this machine does not tell its time zone; name it with --zone, as Europe/Dublin")}
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil, &exitError{exitFaulty, fmt.Errorf("there is no time zone %q; write it as Europe/Dublin", name)}
	}
	return zone, nil
}

// machineZone is the name of the machine's zone: as the environment says, else as the link to the zone file says, else UTC where no zone
// was ever set.
func machineZone() string {
	if tz, set := os.LookupEnv("TZ"); set {
		if name := strings.TrimPrefix(tz, ":"); name != "" {
			return name
		}
		return time.UTC.String()
	}
	target, err := os.Readlink("/etc/localtime")
	if err != nil {
		if os.IsNotExist(err) {
			return time.UTC.String()
		}
		return ""
	}
	_, name, _ := strings.Cut(target, "zoneinfo/")
	return name
}
