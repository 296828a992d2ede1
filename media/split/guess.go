package split

// guess is the log odds of each onset to be a ball's contact before anything
// is learnt: how it sounds, how loud it is among the session's cracks, whether
// something moves then and whether a bounce comes before it.
func (s *session) guess() []float64 {
	loud := s.loudCrack()
	usual := learnCompany(s.onsets, nil, s.seconds, s.taught)
	out := make([]float64, len(s.onsets))
	for i, o := range s.onsets {
		for k, v := range s.guessClues(i, loud, usual.evidence(o.at, 0)) {
			out[i] += v * guessWeights[k]
		}
	}
	return out
}

const guessSize = 5

var guessWeights = [guessSize]float64{0.28, 1.29, -2.04, 0.66, 1.34}

func (s *session) guessClues(i int, loud, company float64) [guessSize]float64 {
	o := s.onsets[i]
	k := s.motion.step(o.at)
	return [...]float64{
		1,
		s.crack[i],
		max(loud-o.peak.high(), 0) / 10,
		s.motion.mean(k-3, k+3) - s.motion.mean(k-aroundSteps, k+aroundSteps),
		company,
	}
}
