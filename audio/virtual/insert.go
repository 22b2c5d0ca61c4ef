package virtual

import "math/rand/v2"

// insert draws what this insertion is like.
func (j *Jig) insert(p *Part, seed, insertion uint64) inserted {
	r := rand.New(rand.NewPCG(seed, 1<<63|insertion))
	return inserted{
		part:         p,
		contactOhm:   max(0, j.ContactOhm+j.ContactSpreadOhm*r.NormFloat64()),
		fixtureFarad: max(-j.FixtureFarad, j.FixtureSpreadFarad*r.NormFloat64()),
	}
}
