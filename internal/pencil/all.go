package pencil

// All holds the sums that need no farm. Each prints the result, how it comes about, where the formula is from,
// and what to mind. On the device title is its head there, and shelf what it lies with.
type All struct {
	Metric bool `help:"Show metric units first."`

	Emc       emcCmd       `cmd:"" title:"Where grain settles in this air" shelf:"air and sun" help:"Where grain settles in air: its equilibrium moisture."`
	Air       airCmd       `cmd:"" title:"What the air holds" shelf:"air and sun" help:"What the air holds: humidity, dew point, drying power, wet bulb."`
	Sun       sunCmd       `cmd:"" title:"Sunrise and sunset" shelf:"air and sun" help:"Sunrise and sunset at a place on a date."`
	Heat      heatCmd      `cmd:"" title:"Heat units for corn" shelf:"air and sun" help:"Heat units of a day for corn."`
	Lossfield lossfieldCmd `cmd:"" title:"Bushels left on the ground" shelf:"in the field" help:"Bushels on the ground, from seeds counted there."`
	Loss      lossCmd      `cmd:"" title:"What waiting and cutting lose" shelf:"in the field" help:"What a stand loses by waiting and by being cut."`
	Yield     yieldCmd     `cmd:"" title:"Yield before harvest" shelf:"in the field" help:"Yield before harvest, from counts."`
	Shrink    shrinkCmd    `cmd:"" title:"Shrink of wet grain" shelf:"grain and grades" help:"Weight that leaves as water when grain dries."`
	Overdry   overdryCmd   `cmd:"" title:"Sold too dry" shelf:"grain and grades" help:"Weight given away by selling grain drier than the base."`
	Insured   insuredCmd   `cmd:"" title:"Bushels an insurer counts" shelf:"grain and grades" help:"Production to count after moisture, as a crop insurer adjusts it."`
	Grade     gradeCmd     `cmd:"" title:"Official grade" shelf:"grain and grades" help:"The US grade of a sample."`
	Capacity  capacityCmd  `cmd:"" title:"Acres an hour" shelf:"in the field" help:"Acres and bushels an hour of a combine."`
	Haul      haulCmd      `cmd:"" title:"How many trucks" shelf:"trucks and roads" help:"Trucks needed to keep up, and what a load costs to haul."`
	Queue     queueCmd     `cmd:"" title:"The line at the pit" shelf:"trucks and roads" help:"How long trucks wait at the pits."`
	Axle      axleCmd      `cmd:"" title:"Axle weights" shelf:"trucks and roads" help:"Axle weights against the federal limits."`
	Payload   payloadCmd   `cmd:"" title:"Bushels in a legal load" shelf:"trucks and roads" help:"Bushels in a legal load."`
	Bin       binCmd       `cmd:"" title:"Bushels in a round bin" shelf:"bins and drying" help:"Bushels in a round bin."`
	Storage   storageCmd   `cmd:"" title:"How long grain keeps" shelf:"bins and drying" help:"How long grain keeps at a moisture and temperature."`
	Dry       dryCmd       `cmd:"" title:"What drying takes and costs" shelf:"bins and drying" help:"What drying grain takes, costs and leaves."`
	Carry     carryCmd     `cmd:"" title:"Keep it or sell it" shelf:"money" help:"The later price that pays for keeping grain."`
	Breakeven breakevenCmd `cmd:"" title:"Miles a better price pays for" shelf:"money" help:"How many more miles a better price pays for."`
	Area      areaCmd      `cmd:"" title:"Acres inside a boundary" shelf:"in the field" help:"Acres inside field boundaries."`
}

// Explain says what the pencils have in common.
func (All) Explain() string {
	return "Each prints the result first, then the formula with your numbers put in, where the formula comes from, " +
		"and what to mind. Amounts carry their unit: 77F or 25C, 4.5mph, 35ft, 55bu/ac, 80000lb, $9.87, -35c.\n\n" +
		"With --json each answer also carries formula, sources (key, title, publisher, year, how), assumed and cautions where there are any."
}
