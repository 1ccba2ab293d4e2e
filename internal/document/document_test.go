package document

import "testing"

func TestFiguresRoundToSixPlaces(t *testing.T) {
	for x, want := range map[float64]string{1.0 / 3: "0.333333", 80000: "80000", -31.62: "-31.62", 1e-9: "0"} {
		got, err := Figure(x).MarshalJSON()
		if err != nil || string(got) != want {
			t.Errorf("Figure(%v) = %s, %v; want %s", x, got, err, want)
		}
	}
}
