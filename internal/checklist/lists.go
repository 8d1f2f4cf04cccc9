package checklist

import (
	"slices"

	"groundhand/internal/groundhand"
)

// firstDay is the day from which the first versions hold.
var firstDay = groundhand.MustDate("2023-01-01")

var lists = []List{
	{"kit-outside-1", "Kit, outside", groundhand.WeeklyOutside, Kit, 1, firstDay, kitOutside},
	{"kit-inside-1", "Kit, inside", groundhand.MonthlyInside, Kit, 1, firstDay, kitInside},
	{"kit-yearly-1", "Kit, yearly, by somebody who does not use it daily", groundhand.Yearly, Kit, 1, firstDay, slices.Concat(kitInside, kitOpened)},
	{"device-daily-1", "Device, daily, from the lower controls", groundhand.DailyLowerControls, Device, 1, firstDay, deviceDaily},
	{"device-weekly-1", "Device, weekly", groundhand.DeviceWeekly, Device, 1, firstDay, deviceWeekly},
	{"device-monthly-1", "Device, monthly, with the emergency lowering", groundhand.DeviceMonthly, Device, 1, firstDay, deviceMonthly},
	{"device-yearly-1", "Device, yearly", groundhand.Yearly, Device, 1, firstDay, deviceYearly},
}

func critical(key, words string) Line { return Line{Key: key, Words: words, Critical: true} }

// whereFitted is critical for the things that have it.
func whereFitted(key, words string) Line {
	return Line{Key: key, Words: words, Critical: true, MayNotApply: true}
}

func plain(key, words string) Line { return Line{Key: key, Words: words} }

var kitOutside = []Line{
	critical("in-place", "It is where the records say, within reach without a key, without climbing and without moving cargo."),
	critical("seal", "The seal or tie is whole and bears the number in the records; if it is broken, look inside now."),
	critical("tag", "The tag can be read: number of the kit, rated load, last look inside, next one due, and the last day of use is not past."),
	plain("bag", "The bag or box is shut and dry, without oil or cuts, and its handle holds."),
	plain("free", "Nothing is stacked on it, and the label shows in the dark."),
	plain("card", "The card with the employer's instructions is there."),
	plain("first-aid", "First-aid kit and AED are beside it or listed; the AED shows that it is good, its pads are in date."),
}

var kitInside = []Line{
	critical("whole-rope", "The whole rope went through the hands both ways: no cut, glaze, flat, stiff or hard place, stain, melted fibre or pulled strand; ends whipped, length as in the records."),
	critical("blocks", "Sheaves turn, cheeks are not spread, pins and becket are sound, no edge is sharp."),
	critical("hooks", "Gates of hooks and connectors shut and lock by themselves; no twist, no crack, no opened throat."),
	critical("slings", "Stitching of slings and straps, the anchor strap too, is whole; no fray, burn, stiffness or chemical mark; labels can be read."),
	critical("hold", "The hold or brake on the line works under a pull by hand, both ways."),
	plain("reeving", "The line is reeved as the card shows, without a twist, and runs from fully closed to fully open."),
	critical("rated-load", "The label of every part shows at least the rated load of the kit."),
	whereFitted("reach", "The rope is long enough for the device that it rides on; does not apply in a store."),
	plain("cutter", "The cutter is there, sheathed and sharp."),
	plain("gloves", "Gloves in the kit are in test date."),
	plain("repacked", "Dried, packed ready to run, sealed anew, the number of the seal entered."),
	plain("count", "The pieces are as many as the list says."),
}

var kitOpened = []Line{
	critical("parts-opened", "Parts were opened as far as the maker allows and are sound."),
	critical("serial-numbers", "Serial numbers are those of the register."),
	critical("age-and-use", "Age and use of every part lie within the maker's limits, and the last day of use is not past."),
	whereFitted("function-test", "The load or function test went well; applies only where the maker or a local rule asks for one."),
	plain("drills-counted", "The drills and rescues recorded with it were counted against its limits."),
	plain("written", "The result is written down and kept."),
}

var deviceDaily = []Line{
	critical("lower-controls-cycle", "A full cycle was run from the lower controls."),
	critical("lower-before-upper", "The lower controls take over from the upper ones."),
	critical("emergency-stop", "The emergency stop stops it, and lets go again."),
	critical("emergency-lowering", "The means of emergency lowering are there and were shown to work, as far as the maker allows."),
	critical("cabinet", "The cabinet of the controls opens without a key that somebody aloft carries."),
	plain("legends-dark", "The legends at the lower controls can be read in the dark."),
	plain("leaks", "Nothing leaks."),
	plain("outriggers", "Outriggers and wheel chocks are there and sound."),
	plain("bucket", "Bucket, liner, lip and tilt catch are sound."),
	plain("harness-anchor", "The anchor for the harness is sound."),
	plain("boom-clean", "The surface of the boom is clean."),
}

var deviceWeekly = []Line{
	whereFitted("battery", "The battery of the auxiliary lowering is charged."),
	whereFitted("pump-handle", "The handle of the hand pump is in its clip."),
	plain("legends", "All legends are there and can be read."),
	plain("head-block-place", "The place for the head block is sound and marked."),
	plain("kit-on-device", "The kit that the records put on this device is on it."),
}

var deviceMonthly = []Line{
	critical("lowering-works", "The emergency lowering brought the bucket from working height to the ground."),
	plain(LoweringTimed, "It was timed, and the seconds are entered: that is the figure behind every plan that rests on it."),
	plain("tilt", "The tilt of the bucket was worked both ways."),
	plain("door", "The door or step of the bucket works."),
	plain("plan-card", "The rescue plan card for this control family is in the cab."),
}

var deviceYearly = []Line{
	critical("periodic", "The periodic inspection that applies to this device was made, and its written result shows no open defect."),
	whereFitted("electrical", "The electrical test is in date; applies to insulated devices."),
	whereFitted("rubber-goods", "Rubber gloves, sleeves and blankets carried on it are in test date."),
	plain("first-aid-stock", "The first-aid kit carried on it was gone through and filled up."),
	plain("register", "Serial numbers, control family and height of the anchor are as in the records."),
}
