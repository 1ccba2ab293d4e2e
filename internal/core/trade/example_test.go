package trade_test

import (
	"fmt"

	"threshday/internal/core/trade"
)

func ExampleFraction_Ratio() {
	half := trade.MustFraction("0.5")
	fmt.Println(half, half.Ratio())
	fmt.Println(trade.MustFraction("2/6").Ratio(), trade.MustFraction("1").Ratio())
	// Output:
	// 0.5 1/2
	// 1/3 1
}
