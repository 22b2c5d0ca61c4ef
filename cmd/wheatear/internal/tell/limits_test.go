package tell

import (
	"testing"

	"example.org/wheatear/lockin/fixture"
)

// Every source that a budget can name has its explanation.
func TestLimitsKnowEveryLabel(t *testing.T) {
	labels := []string{
		fixture.LabelReference, fixture.LabelReferenceCap, fixture.LabelLoading, fixture.LabelMatch, fixture.LabelDelay, fixture.LabelCrosstalk,
		fixture.LabelLeads, fixture.LabelFixtureCap, fixture.LabelContact, fixture.LabelStray, fixture.LabelDrift, fixture.LabelMains,
		fixture.LabelRepeat, fixture.LabelLoad, fixture.LabelLoadResidual, fixture.LabelOpenResidual, fixture.LabelShortResidual,
		fixture.LabelInterpolation, fixture.LabelExtrapolation, fixture.LabelClock, fixture.NoiseLabel(fixture.PartRole), fixture.NoiseLabel(fixture.Open),
	}
	known := limits()
	for _, label := range labels {
		l := known[label]
		if l.why == "" || l.frequency == "" || l.reference == "" {
			t.Errorf("%q has no explanation", label)
		}
	}
}
