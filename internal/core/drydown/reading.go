package drydown

import (
	"fmt"
	"math"

	"threshday/internal/core/calendar"
)

// A Device is what a moisture was read with.
type Device uint8

// The devices.
const (
	Meter   Device = iota + 1 // hand-held
	Bite                      // teeth, thumbnail, rattle
	Combine                   // sensor in the combine
	Ticket                    // scale ticket of an elevator
)

var deviceNames = [...]string{"", "meter", "bite", "combine", "ticket"}

// String returns the name as records write it, "meter".
func (d Device) String() string { return deviceNames[d] }

// ParseDevice returns the device of that exact name.
func ParseDevice(s string) (Device, bool) {
	for d := Meter; d <= Ticket; d++ {
		if deviceNames[d] == s {
			return d, true
		}
	}
	return 0, false
}

// A Zone is the part of a field a sample was taken in.
type Zone uint8

// The zones. Whole is the field, or spots all over it.
const (
	Whole Zone = iota
	Low        // where it ripens last
	Knob       // where it ripens first
	Load       // a sample of a load, which is a strip of the field
)

// ParseZone reads "whole", "low", "knob", "load", or the empty string for the whole field.
func ParseZone(s string) (Zone, bool) {
	switch s {
	case "", "whole":
		return Whole, true
	case "low":
		return Low, true
	case "knob":
		return Knob, true
	case "load":
		return Load, true
	default:
		return Whole, false
	}
}

// A Reading is one moisture figure of a field.
type Reading struct {
	ID        string
	At        calendar.Hour // beginning of the cell nearest to the time it was taken
	WB        float64       // % wet basis
	Device    Device
	Name      string  // which meter, whose bite: each has a bias of its own
	Spots     int     // spots sampled into the figure; 0 counts as 1
	Zone      Zone    // where
	HoursSure float64 // how far the time may be off, h
	Load      string  // of a reading of a load: what readings of the same load share; may be empty
	Share     float64 // part of the field that the load is, 0 to 1; 0: a strip
}

// A Trust is how far one device's readings can be believed.
type Trust struct {
	SDWB     float64 // of one reading against the truth of the sample, points
	BiasSDWB float64 // of the error all readings of one device share, points
	Say      string  // why it is not used at all; empty: it is
}

// How far devices are off. [judgement], set between dealer-grade meters tried on 881 samples of corn, random 2.5 %
// of the reading near 15.5 % and 4.5 % at 38 % [hurburgh-1985], and limits of 0.8 to 3.2 points on 690 samples
// [paulsen-1984].
const (
	meterDrySD    = 0.40 // official meter up to meterDryWB, points
	meterDryWB    = 16.0
	meterWetSlope = 0.06 // points more for each point above
	handheldBy    = 1.5  // a hand-held or combine meter is that much worse
	handheldBias  = 0.7  // points
	combineBias   = 1.0  // points
	ticketSD      = 0.3  // points
	biteSD        = 1.7  // points; with its bias 2 in all
	biteBias      = 1.0  // points
	biteLowWB     = 11.0 // outside of these a bite says nothing
	biteHighWB    = 16.0
	stripSD       = 0.5 // a load is a strip of the field, points
	timeShare     = 0.3 // of the moisture's pace over the hours a time may be off
)

// TrustIn returns how far a reading of wb percent by device d can be believed.
func TrustIn(d Device, wb float64) Trust {
	official := meterDrySD + float64(meterWetSlope*max(0, wb-meterDryWB))
	switch d {
	case Meter:
		return Trust{SDWB: handheldBy * official, BiasSDWB: handheldBias}
	case Combine:
		return Trust{SDWB: handheldBy * official, BiasSDWB: combineBias}
	case Ticket:
		return Trust{SDWB: ticketSD}
	case Bite:
		t := Trust{SDWB: biteSD, BiasSDWB: biteBias}
		if wb < biteLowWB || wb > biteHighWB {
			t.Say = fmt.Sprintf("A bite tells moisture between %g and %g %% only.", biteLowWB, biteHighWB)
		}
		return t
	default:
		panic("drydown: reading without a device")
	}
}

// noise returns the variance of r around the mean of its zone, points², apart from the device's bias: the device's own, and
// that of place and time. pace is how fast the mean changes, points per hour.
func (f *Field) noise(r Reading, t Trust, pace float64) (own, other float64) {
	if r.Device == Combine || r.Device == Ticket || r.Zone == Load {
		other = stripSD * stripSD * (1 - r.Share)
	} else {
		spot := f.Params.spotSD(r.WB, f.Uneven)
		other = spot * spot / float64(max(1, r.Spots))
	}
	off := timeShare * pace * r.HoursSure
	return t.SDWB * t.SDWB, other + float64(off*off)
}

// zoneWB returns the moisture at the scale of zone z: of the later strata for Low, the earlier for Knob.
func (f *Field) zoneWB(s *State, z Zone) float64 {
	half := s.n / 2
	if z == Whole || z == Load || half == 0 {
		return f.MeanWB(s)
	}
	part := s.db[:half]
	if z == Low {
		part = s.db[s.n-half : s.n]
	}
	var sum float64
	for _, db := range part {
		sum += db
	}
	return WetBasis(sum / float64(half))
}

// SpotsFor returns at how many spots a field must be sampled for its mean to be within points with 95 %
// confidence, when samples from different spots differ by sd points: 16 for half a point at 1 point.
func SpotsFor(sd, points float64) int {
	const z = 1.96
	n := z * sd / points
	return int(math.Ceil(n * n))
}
