package measure

import (
	"math"

	"netreel/media"
)

// reach is how far in front of the middles of the feet a ball is met, metres:
// judgement, no source.
const reach = 0.20

var ballHeight = Measure{
	Key: "ball-height", Name: "Height of the ball", Unit: Centimetres, vague: 30,
	About: "How high the middle of the ball is above the ground when it is struck or passes the batter.",
	Needs: calibrated(at(Ball, FrontHeel, BackHeel)),
	take: func(t *taking) (float64, error) {
		v, err := t.space()
		if err != nil {
			return 0, err
		}
		a, b, err := t.base(contact)
		if err != nil {
			return 0, err
		}
		ball, err := t.click(contact, Ball)
		if err != nil {
			return 0, err
		}
		width := distance(a, b)
		feet := upright{Spot{(a.X + b.X) / 2, (a.Y + b.Y) / 2}, Spot{(b.X - a.X) / width, (b.Y - a.Y) / width}}
		beside, err := t.instep(feet)
		if err != nil {
			return 0, err
		}
		// A plane that faces the camera, through the place where balls are met:
		// it tells a height wherever the camera stands.
		foot := feet.shifted(beside + math.Copysign(reach, beside)).foot
		eye := t.in.Calibration.Camera.Eye
		dx, dy := foot.X-eye[0], foot.Y-eye[1]
		away := math.Hypot(dx, dy)
		u := upright{foot, Spot{dy / away, -dx / away}}
		t.caveat("Taken to be met just in front of the feet, ± %.0f cm towards the camera or away from it.", 100*ballOffPlane)
		_, height, err := u.shifted(t.about("ball off the plane", 0, ballOffPlane)).meet(v, ball)
		return 100 * height, err
	},
}

// releaseDepth is how well it is known where along the pitch a ball was released
// or met when nobody says, metres: judgement, no source.
const releaseDepth = 0.3

// from is where the ball was released, metres from the striker's stumps.
func (t *taking) from(f Flight) float64 {
	x, sigma := f.From, f.FromSigma
	if x == 0 {
		x = t.pitch().length() - t.popping()
		if t.in.Calibration == nil {
			t.caveat("Taken over a pitch of %.2f m: calibrate the camera or enter where the ball was released if the pitch is shorter.", t.pitch().length())
		}
	}
	if sigma == 0 {
		sigma = releaseDepth
	}
	return t.about("release along", x, sigma)
}

// to is where the ball was met, metres from the striker's stumps.
func (t *taking) to(f Flight) float64 {
	x, sigma := f.To, f.ToSigma
	if x == 0 {
		x = t.popping()
	}
	if sigma == 0 {
		sigma = releaseDepth
	}
	return t.about("arrival along", x, sigma)
}

// pitch is what it is marked with; without a calibration those of the Laws.
func (t *taking) pitch() Pitch {
	if c := t.in.Calibration; c != nil {
		return c.Pitch
	}
	return usualPitch()
}

func (t *taking) popping() float64 { return t.pitch().Laws.PoppingFromBowling }

// halfFrame is the standard deviation of what happened at some time between two
// frames: uniform over the interval.
var halfFrame = 1 / math.Sqrt(12)

// when gives a moment in seconds: the middle of the interval between the first
// frame that shows it and the one before.
func (t *taking) when(name string, m *Moment) (float64, error) {
	if m == nil {
		return 0, refuse("When the ball's %s was is not marked. Mark its frame first.", name)
	}
	return t.about(name, m.At.Seconds()-m.Frame.Seconds()/2, halfFrame*m.Frame.Seconds()), nil
}

// fewFrames is the number of frames below which a time says too little.
const fewFrames = 3

// between gives the seconds from one moment to another.
func (t *taking) between(fromName string, from *Moment, toName string, to *Moment) (float64, error) {
	a, err := t.when(fromName, from)
	if err != nil {
		return 0, err
	}
	b, err := t.when(toName, to)
	if err != nil {
		return 0, err
	}
	if to.At <= from.At {
		return 0, refuse("The %s must come after the %s. Mark both again.", toName, fromName)
	}
	if to.At-from.At < fewFrames*max(from.Frame, to.Frame) {
		return 0, refuse("From %s to %s there are fewer than %d frames, which is too coarse. Film at more frames a second.", fromName, toName, fewFrames)
	}
	return b - a, nil
}

func (t *taking) flight() Flight {
	if t.in.Flight == nil {
		return Flight{}
	}
	return *t.in.Flight
}

// unsure is how far a time may be off at most: the event lies somewhere between
// two frames at both ends.
func unsure(a, b *Moment) media.Micros { return (a.Frame + b.Frame) / 2 }

const metresASecond = 3.6 // km/h

// shortWay is the least distance that a speed is taken over, metres.
const shortWay = 1.0

// speed gives km/h over a distance in metres, with its bounds by the frames.
func (t *taking) speed(metres, seconds float64, a, b *Moment) (float64, error) {
	if metres < shortWay && t.judging() {
		return 0, refuse("The ball's way would be %.1f m, shorter than a speed can be taken over. Check where it was released or bounced and where it was met.", metres)
	}
	t.caveat("The average over this part of the flight: a ball is faster when it leaves the hand.")
	u := unsure(a, b).Seconds()
	t.bounds(metresASecond*metres/(seconds+u), metresASecond*metres/(seconds-u))
	return metresASecond * metres / seconds, nil
}

var ballSpeed = Measure{
	Key: "ball-speed", Name: "Ball speed, release to arrival", Unit: KmPerHour, vague: 60,
	About: "The distance from release to arrival along the pitch divided by the time: the average over the flight, bounce included.",
	Needs: []Need{NeedsRelease, NeedsArrival},
	take: func(t *taking) (float64, error) {
		f := t.flight()
		s, err := t.between("release", f.Release, "arrival", f.Arrival)
		if err != nil {
			return 0, err
		}
		return t.speed(t.from(f)-t.to(f), s, f.Release, f.Arrival)
	},
}

var bounceSpeed = Measure{
	Key: "bounce-speed", Name: "Ball speed off the pitch", Unit: KmPerHour, vague: 60,
	About: "The distance from where the ball bounced to where it arrived along the pitch divided by the time.",
	Needs: append(calibrated(at(BallBounce)), NeedsBounce, NeedsArrival),
	take: func(t *taking) (float64, error) {
		f := t.flight()
		s, err := t.between("bounce", f.Bounce, "arrival", f.Arrival)
		if err != nil {
			return 0, err
		}
		pitched, err := t.ground(contact, BallBounce)
		if err != nil {
			return 0, err
		}
		return t.speed(pitched.X-t.to(f), s, f.Bounce, f.Arrival)
	},
}

var flightTime = Measure{
	Key: "flight-time", Name: "Time from release to arrival", Unit: Seconds, vague: 1,
	About: "From the ball's release until it is struck or passes.",
	Needs: []Need{NeedsRelease, NeedsArrival},
	take: func(t *taking) (float64, error) {
		f := t.flight()
		s, err := t.between("release", f.Release, "arrival", f.Arrival)
		if err == nil {
			t.bounds(s-unsure(f.Release, f.Arrival).Seconds(), s+unsure(f.Release, f.Arrival).Seconds())
		}
		return s, err
	},
}

var triggerTime = Measure{
	Key: "trigger-time", Name: "Time from first movement to contact", Unit: Seconds, vague: 1,
	About: "From the batter's first movement until the ball is struck or passes.",
	Needs: []Need{NeedsTrigger, NeedsArrival},
	take: func(t *taking) (float64, error) {
		f := t.flight()
		s, err := t.between("first movement", f.Trigger, "arrival", f.Arrival)
		if err == nil {
			t.bounds(s-unsure(f.Trigger, f.Arrival).Seconds(), s+unsure(f.Trigger, f.Arrival).Seconds())
		}
		return s, err
	},
}
