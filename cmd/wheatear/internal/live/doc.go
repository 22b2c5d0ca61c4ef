// Package live measures through a sound card: it plays tones through a jig,
// records the answer, judges the record and repeats it where it is spoilt. What it
// hands on are observations, as they would come from files.
//
// A [Session] is a card with a jig. [Session.Plan] makes the stimulus,
// [Session.Take] one sound record of what is connected, [Session.Standards] one of
// each standard, [Session.Average] as many as a wanted uncertainty needs. With a
// [Folder] everything that was recorded is kept.
//
//	s, err := live.Open(ctx, live.Options{Jig: jig})
//	defer s.Close()
//	plan, err := s.Plan(ctx, []lockin.ToneRequest{{FreqHz: 1000}})
//	take, err := s.Take(ctx, live.Subject{Role: fixture.PartRole}, plan)
//	reading, err := Measure(jig, cal, []fixture.Observation{take.Observation}, 1000, s.Reading())
//
// Every function that plays takes a context; when it ends, they return within a
// second or so with what they have. Nothing runs on in the background.
package live
