package body

import (
	"math"

	"netreel/media/scene/space"
)

// Build is a person's size, metres.
type Build struct{ Height float64 }

// Body proportions as shares of standing height, common in textbooks of
// biomechanics (from memory: segment lengths after Drillis and Contini 1966).
const (
	thigh     = 0.245
	shin      = 0.246
	ankle     = 0.045
	hipHalf   = 0.056
	trunk     = 0.292 // pelvis centre to the base of the neck
	shoulders = 0.112
	upperArm  = 0.178
	foreArm   = 0.150
	headUp    = 0.088 // base of the neck to the centre of the head
	footFore  = 0.095
	footBack  = 0.035
)

// The bat in metres, from the point between the hands.
const (
	handleTop  = -0.14
	bladeTop   = 0.16
	batToe     = 0.71
	sweetSpot  = batToe - 0.15 // Cross 2005: about 150 mm from the toe
	handSpread = 0.055
)

// Frame is three axes of a body part: Left, Front and Up.
type Frame struct{ Left, Front, Up space.V }

// Skeleton is where the joints are.
type Skeleton struct {
	K                      float64 // height over 1.70 m, for thickness
	Hip, Waist, Neck, Head space.V
	Pelvis, Chest, Skull   Frame
	Shoulder, Elbow, Wrist [2]space.V // left, right
	Hand                   [2]space.V
	HipJoint, Knee, Ankle  [2]space.V
	Heel, Toe              [2]space.V
	HasBat                 bool
	Grip, Blade, Face      space.V // Blade and Face are unit vectors at right angles
}

// Solve follows a pose with the limbs of a build. A hand or foot that is out
// of reach is stretched towards as far as the limb goes.
func Solve(p *Pose, b Build) *Skeleton {
	h := b.Height
	s := &Skeleton{K: h / 1.70, Hip: p[Hip], HasBat: p[Hold].X > 0.01 || p[Hold].Y > 0.01}
	s.Hip.Z *= s.K
	up := space.V{X: p[Lean].X, Y: p[Lean].Y, Z: 1}.Unit()
	s.Pelvis = frame(space.Heading(p[Turn].X), space.Mix(space.V{Z: 1}, up, 0.5).Unit())
	s.Chest = frame(space.Heading(p[Turn].Y), up)
	s.Waist = s.Hip.Along(s.Pelvis.Up, 0.38*trunk*h)
	s.Neck = s.Waist.Along(up, 0.62*trunk*h)
	neckUp := space.Mix(up, space.V{Z: 1}, 0.6).Unit()
	gaze := p[Gaze].Unit()
	s.Skull.Front = gaze
	s.Skull.Up = neckUp.Across(gaze)
	s.Skull.Left = s.Skull.Front.Cross(s.Skull.Up)
	s.Head = s.Neck.Along(neckUp, headUp*h).Along(gaze, 0.012*h).Add(p[Nod])

	s.Blade = p[Blade].Unit()
	s.Face = p[Face].Across(s.Blade)
	s.Grip = p[Grip]
	for side := range 2 {
		sign := 1 - 2*float64(side) // left +, right -
		s.Shoulder[side] = s.Neck.Along(s.Chest.Up, -0.016*h).Along(s.Chest.Left, sign*shoulders*h)
		want := p[HandL+side]
		if on := [2]float64{p[Hold].X, p[Hold].Y}[side]; on > 0 {
			want = space.Mix(want, s.held(side), smooth(on))
		}
		s.bendArm(side, sign, want, p[Turn].Z, h)
		s.bendLeg(side, sign, p, h)
	}
	return s
}

func (s *Skeleton) bendArm(side int, sign float64, want space.V, lift, h float64) {
	pole := s.Chest.Up.Mul(-0.75).Along(s.Chest.Left, 0.75*sign).Along(s.Chest.Front, -0.15)
	if side == 0 {
		pole = space.Mix(pole, s.Chest.Left.Mul(0.9).Along(s.Chest.Up, 0.75), lift)
	}
	s.Elbow[side], s.Wrist[side] = bend(s.Shoulder[side], want, upperArm*h, foreArm*h, pole)
	s.Hand[side] = s.Wrist[side].Along(s.Wrist[side].Sub(s.Elbow[side]).Unit(), 0.035*h)
	if s.HasBat {
		on := s.Grip.Along(s.Blade, -sign*handSpread)
		if d := on.Sub(s.Wrist[side]); d.Len() < 0.16 {
			s.Hand[side] = on
		}
	}
}

func (s *Skeleton) bendLeg(side int, sign float64, p *Pose, h float64) {
	foot, toe := p[FootL+side], p[ToeL+side].Unit()
	s.HipJoint[side] = s.Hip.Along(s.Pelvis.Left, sign*hipHalf*h).Along(s.Pelvis.Up, -0.02*h)
	flat := space.V{X: toe.X, Y: toe.Y}.Unit()
	pole := flat.Along(s.Pelvis.Front, 0.35).Along(s.Pelvis.Left, 0.12*sign)
	s.Knee[side], s.Ankle[side] = bend(s.HipJoint[side], foot.Along(space.V{Z: 1}, ankle*h), thigh*h, shin*h, pole)
	base := s.Ankle[side].Along(space.V{Z: 1}, -ankle*h)
	s.Toe[side] = base.Along(toe, footFore*h)
	s.Heel[side] = base.Along(toe, -footBack*h)
	s.Toe[side].Z = max(0.02, s.Toe[side].Z+0.02)
	s.Heel[side].Z = max(0.02, s.Heel[side].Z+0.02)
}

// frame makes three axes from an up direction and the wanted left.
func frame(left, up space.V) Frame {
	f := Frame{Up: up, Left: left.Across(up)}
	f.Front = f.Up.Cross(f.Left)
	return f
}

// bend places the middle joint of two bones that reach from root towards
// want, bent towards pole.
func bend(root, want space.V, a, b float64, pole space.V) (mid, end space.V) {
	d := want.Sub(root)
	l := min((a+b)*0.999, max(math.Abs(a-b)*1.02, d.Len()))
	dir := d.Unit()
	along := (l*l + a*a - b*b) / (2 * l)
	out := math.Sqrt(max(0, a*a-along*along))
	mid = root.Along(dir, along).Along(pole.Across(dir), out)
	return mid, root.Along(dir, l)
}

// smooth eases a share 0..1 in and out.
func smooth(k float64) float64 {
	k = min(1, max(0, k))
	return k * k * (3 - 2*k)
}

// BatPoint gives the point of the bat at a distance from the point between
// the hands.
func (s *Skeleton) BatPoint(along float64) space.V { return s.Grip.Along(s.Blade, along) }

// BladeEnds gives the top and the toe of the blade's middle line.
func (s *Skeleton) BladeEnds() (top, toe space.V) {
	return s.BatPoint(bladeTop), s.BatPoint(batToe)
}

// Base is how far the ankles are apart over the ground.
func (s *Skeleton) Base() float64 {
	return math.Hypot(s.Ankle[0].X-s.Ankle[1].X, s.Ankle[0].Y-s.Ankle[1].Y)
}
