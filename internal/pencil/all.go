package pencil

// All holds the sums that need no farm. Each prints the result, how it comes about, where the formula is from,
// and what to mind.
type All struct {
	Metric bool `help:"Show metric units first."`

	Emc       emcCmd       `cmd:"" help:"Where grain settles in air: its equilibrium moisture."`
	Air       airCmd       `cmd:"" help:"What the air holds: humidity, dew point, drying power, wet bulb."`
	Sun       sunCmd       `cmd:"" help:"Sunrise and sunset at a place on a date."`
	Heat      heatCmd      `cmd:"" help:"Heat units of a day for corn."`
	Lossfield lossfieldCmd `cmd:"" help:"Bushels on the ground, from seeds counted there."`
	Loss      lossCmd      `cmd:"" help:"What a stand loses by waiting and by being cut."`
	Yield     yieldCmd     `cmd:"" help:"Yield before harvest, from counts."`
	Shrink    shrinkCmd    `cmd:"" help:"Weight that leaves as water when grain dries."`
	Overdry   overdryCmd   `cmd:"" help:"Weight given away by selling grain drier than the base."`
	Insured   insuredCmd   `cmd:"" help:"Production to count after moisture, as a crop insurer adjusts it."`
	Grade     gradeCmd     `cmd:"" help:"The US grade of a sample."`
	Capacity  capacityCmd  `cmd:"" help:"Acres and bushels an hour of a combine."`
	Haul      haulCmd      `cmd:"" help:"Trucks needed to keep up, and what a load costs to haul."`
	Queue     queueCmd     `cmd:"" help:"How long trucks wait at the pits."`
	Axle      axleCmd      `cmd:"" help:"Axle weights against the federal limits."`
	Payload   payloadCmd   `cmd:"" help:"Bushels in a legal load."`
	Bin       binCmd       `cmd:"" help:"Bushels in a round bin."`
	Storage   storageCmd   `cmd:"" help:"How long grain keeps at a moisture and temperature."`
	Dry       dryCmd       `cmd:"" help:"What drying grain takes, costs and leaves."`
	Carry     carryCmd     `cmd:"" help:"The later price that pays for keeping grain."`
	Breakeven breakevenCmd `cmd:"" help:"How many more miles a better price pays for."`
	Area      areaCmd      `cmd:"" help:"Acres inside field boundaries."`
}

// Explain says what the pencils have in common.
func (All) Explain() string {
	return "Each prints the result first, then the formula with your numbers put in, where the formula comes from, " +
		"and what to mind. Amounts carry their unit: 77F or 25C, 4.5mph, 35ft, 55bu/ac, 80000lb, $9.87, -35c.\n\n" +
		"With --json each answer also carries formula, sources (key, title, publisher, year, how), assumed and cautions where there are any."
}
