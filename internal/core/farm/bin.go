package farm

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A Bin stores grain at home.
type Bin struct {
	ID          string
	Name        string
	Crop        crop.Kind
	HoldsBu     float64
	InBu        float64
	MaxMoisture trade.Percent // wettest grain that may go in without the dryer
	Dryer       string        // ID, empty: none
	Miles       *float64
	SaleUSD     *trade.Price // what the owner expects to sell it at, net of nothing
	CostUSD     *trade.Price // storing it until then, $/bu
	SaleBase    trade.Percent
	BuPerHour   *float64 // auger or leg
	DumpMin     *float64
	Readings    []BinReading // by day
}

// A BinReading is what was read of the grain in a bin.
type BinReading struct {
	On       calendar.Day
	Temp     units.Temperature
	Moisture *trade.Percent // of all that lies in it; nil: not read
}

// A Dryer takes water out on the farm.
type Dryer struct {
	ID           string
	Name         string
	BuPerHourAt5 float64 // wet bu/h removing five points
	HoursPerDay  float64
	Target       map[crop.Kind]trade.Percent
	GalPerBuPt   *float64 // LP
	KWhPerBuPt   *float64
	LPUSD        *trade.Price // per gallon
	PowerUSD     *trade.Price // per kWh
	HandlingUSD  *trade.Price // per bu
	HandlingLoss *trade.Percent
}
