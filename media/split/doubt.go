package split

// What is heard may be the next net's bats, which its batter's movements bear out. They
// tell balls from other moments by less than those of who is filmed do, or take up less of
// the picture. That can be told at the end only: on the way to it one's own tell as little.
const (
	untoldLeast = 7   // balls from which that can be told: fewer teach too little of what they look like
	untoldBelow = 4.5 // common standard deviations: by less than this balls are hardly told,
	untoldMore  = 6.0 // and so many log odds are against them for each less
	smallBelow  = 5.0 // cells: who moves in fewer is far off, where nothing is seen to fly,
	smallFlown  = 2.8 // and where something is;
	smallMore   = 8.0 // so many log odds are against balls for each less

	untoldMost = 12.0 // log odds against balls at most
)

// doubtUntold doubts balls that are heard but hardly told by pictures, or by little of them,
// unless somebody has said which are meant, most are seen to bounce, or an earlier split
// found balls at this camera position.
func (s *session) doubtUntold() {
	if s.sight == nil {
		return
	}
	balls := s.sight.fits[feedPart].yes.n
	if s.silent() || s.deaf() || balls < blankLeast || s.sight.fits[feedPart].no.n < blankElse ||
		!s.moves() || s.mostBounce() || s.taught.Balls > 0 || len(s.saidAnchors()) > 0 {
		return
	}
	least := smallBelow
	if s.way != nil {
		least = smallFlown
	}
	extent := s.sight.extent(newEye(s.probe.Width, s.probe.Height).cells())
	against := smallMore * (least - extent)
	if balls >= untoldLeast {
		against = max(against, untoldMore*(untoldBelow-s.apart()))
	}
	if against > 0 {
		s.against.untold = min(against, untoldMost)
		s.weighAnew()
	}
}

// extent is in how many of the picture's cells it shows that a ball is met: as many as
// would, each as much as the others, tell as surely (participation ratio).
func (s *sight) extent(cells int) float64 {
	var sum, squares float64
	for _, w := range s.shotCells(cells) {
		sum, squares = sum+w, squares+w*w
	}
	if squares == 0 {
		return float64(cells)
	}
	return sum * sum / squares
}
