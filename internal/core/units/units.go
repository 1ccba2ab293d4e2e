// Package units holds quantities as physics sees them: float64 in SI inside, constructors and accessors
// that name the unit outside.
//
// It leaves out numbers printed on paper (package trade) and moisture (package moisture). Bushels belong
// to a crop and are not here either; only the volume bushel is.
//
// Exact constants: international foot 0.3048 m, statute mile 1609.344 m, international acre
// 4046.8564224 m², pound 0.45359237 kg, Winchester bushel 2150.42 in³ = 0.03523907016688 m³. [nist-44]
package units

// A Mass in kilograms.
type Mass float64

// Masses to multiply with, as in 50*Pound.
const (
	Kilogram Mass = 1
	Pound    Mass = 0.45359237
	Tonne    Mass = 1000
	ShortTon Mass = 2000 * Pound
)

// Kilograms returns m in kg.
func (m Mass) Kilograms() float64 { return float64(m) }

// Pounds returns m in avoirdupois pounds.
func (m Mass) Pounds() float64 { return float64(m) / float64(Pound) }

// A Length in metres.
type Length float64

// Lengths to multiply with.
const (
	Meter     Length = 1
	Kilometer Length = 1000
	Foot      Length = 0.3048
	Inch      Length = 0.0254
	Mile      Length = 1609.344
)

// Meters returns l in m.
func (l Length) Meters() float64 { return float64(l) }

// Feet returns l in international feet.
func (l Length) Feet() float64 { return float64(l) / float64(Foot) }

// Inches returns l in inches.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// Miles returns l in statute miles.
func (l Length) Miles() float64 { return float64(l) / float64(Mile) }

// An Area in square metres.
type Area float64

// Areas to multiply with.
const (
	SquareMeter Area = 1
	SquareFoot  Area = 0.3048 * 0.3048
	Hectare     Area = 10000
	Acre        Area = 4046.8564224
)

// SquareMeters returns a in m².
func (a Area) SquareMeters() float64 { return float64(a) }

// Acres returns a in international acres.
func (a Area) Acres() float64 { return float64(a) / float64(Acre) }

// Hectares returns a in ha.
func (a Area) Hectares() float64 { return float64(a) / float64(Hectare) }

// A Volume in cubic metres.
type Volume float64

// Volumes to multiply with.
const (
	CubicMeter   Volume = 1
	CubicFoot    Volume = 0.3048 * 0.3048 * 0.3048
	VolumeBushel Volume = 2150.42 * 0.0254 * 0.0254 * 0.0254 // Winchester bushel
)

// CubicMeters returns v in m³.
func (v Volume) CubicMeters() float64 { return float64(v) }

// CubicFeet returns v in ft³.
func (v Volume) CubicFeet() float64 { return float64(v) / float64(CubicFoot) }

// Bushels returns v in Winchester (volume) bushels.
func (v Volume) Bushels() float64 { return float64(v) / float64(VolumeBushel) }

// A Speed in metres per second.
type Speed float64

// Speeds to multiply with.
const (
	MeterPerSecond   Speed = 1
	KilometerPerHour Speed = 1000.0 / 3600
	MilePerHour      Speed = 1609.344 / 3600
)

// MetersPerSecond returns s in m/s.
func (s Speed) MetersPerSecond() float64 { return float64(s) }

// MilesPerHour returns s in mph.
func (s Speed) MilesPerHour() float64 { return float64(s) / float64(MilePerHour) }

// KilometersPerHour returns s in km/h.
func (s Speed) KilometersPerHour() float64 { return float64(s) / float64(KilometerPerHour) }

// A Temperature on a fixed scale. The zero Temperature is 0 °C.
type Temperature struct{ c float64 }

// Celsius returns the temperature of t degrees Celsius.
func Celsius(t float64) Temperature { return Temperature{t} }

// Fahrenheit returns the temperature of t degrees Fahrenheit.
func Fahrenheit(t float64) Temperature { return Temperature{(t - 32) / 1.8} }

// Celsius returns t in °C.
func (t Temperature) Celsius() float64 { return t.c }

// Fahrenheit returns t in °F.
func (t Temperature) Fahrenheit() float64 { return t.c*1.8 + 32 }
