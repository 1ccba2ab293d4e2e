package drydown

// A Look is how a field might be read next: so many spots of a zone, each read by itself with one device.
type Look struct {
	Device Device
	Name   string // which meter, whose bite; what is known of it counts
	Zone   Zone
	Spots  int // at least 1
}

// Tells returns which part of the variance of the field mean at At the look would take away, 0 to 1, whatever it says: what
// the look sees of the mean, against how unsure what it sees is, with the bias of its device and the noise of device and place.
// It is 0 where the device is of no use at the field's moisture.
func (p *Posterior) Tells(l Look) float64 {
	a := &p.a
	belief := &a.t.belief
	trust := TrustIn(l.Device, p.now.WB)
	unsure := belief.variance(p.mean)
	if trust.Say != "" || unsure <= 0 {
		return 0
	}
	seen := a.slopes(l.Zone)
	own, other := a.Field.noise(Reading{WB: p.now.WB, Device: l.Device, Zone: l.Zone}, trust, 0)
	bias := trust.BiasSDWB * trust.BiasSDWB
	for _, d := range a.t.devices {
		if d.kind != l.Device || d.name != l.Name {
			continue
		}
		own *= d.scatter.factor()
		if on := d.on(a.Field.Params.Crop); on >= 0 && d.bias[on] >= 0 {
			seen.add(d.bias[on])
			bias = 0
		}
	}
	noise := (own+other)/float64(max(1, l.Spots)) + bias
	common := p.mean.dot(belief.along(seen))
	return min(1, common*common/((belief.variance(seen)+noise)*unsure))
}
