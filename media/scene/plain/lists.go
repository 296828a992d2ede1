package plain

// Two lists of scenes. Whoever changes the split may look at those of Tuning
// as often as they like. Those of Judging differ in seeds and in every setting
// and sound; they are looked at by their figures alone, and seldom: constants
// are never chosen by them.

// Tuning lists the scenes that the split may be tuned on.
func Tuning() []Setting {
	return []Setting{
		{Name: "side, quiet hall", Seed: 11, Seconds: 120, Gap: 7, Left: 0.2, Width: 480, Height: 270, FPS: 50, Style: Limbs,
			Grain: 2, Ball: 0.012, Bat: SideStick, Spread: 3, Distance: 6, Noise: -42, Echo: 0.5, Taps: 2},
		{Name: "behind the arm, bowler", Seed: 12, Seconds: 150, Gap: 9, Left: 0.25, Width: 480, Height: 270, FPS: 25, View: BehindArm, Feed: Bowler,
			Grain: 3, Ball: 0.009, Bat: Rimshot, Spread: 3, Distance: 20, Noise: -36, Wind: -22},
		{Name: "changing rate", Seed: 13, Drop: 0.3, Seconds: 120, Gap: 6, Left: 0.15, Width: 426, Height: 240, FPS: 60, Style: Blocks,
			Grain: 1, Ball: 0.01, Bat: Stick, Spread: 4, Distance: 8, Noise: -38, Talk: 0.3, TalkLevel: -6, Walkers: 1},
		{Name: "portrait, far and dull", Seed: 14, Seconds: 100, Gap: 7, Left: 0.2, Width: 216, Height: 384, Rotate: 90, FPS: 100, Feed: Machine, Size: 0.6,
			Grain: 2, Ball: 0.012, Bat: SideStick, Spread: 3, Distance: 18, Noise: -30, Dull: 1800, Echo: 0.6, Hum: true},
		{Name: "hand-held, clipped", Seed: 15, Seconds: 120, Gap: 6.5, Left: 0.2, Width: 480, Height: 270, FPS: 30, Style: Limbs,
			Shake: 0.012, Grain: 2, Ball: 0.01, Bat: Rimshot, Spread: 4, Distance: 4, Gain: 16, Noise: -38, Talk: 0.2, TalkLevel: -10},
		{Name: "bursts", Seed: 16, Bitrate: 600_000, Seconds: 100, Gap: 9, Burst: 6, Left: 0.1, Flight: 0.5, Width: 426, Height: 240, FPS: 50,
			Grain: 1, Ball: 0.012, Bat: RimClick, Spread: 3, Distance: 5, Noise: -40, Echo: 0.4},
		{Name: "three busy nets", Seed: 17, Seconds: 150, Gap: 8, Left: 0.2, Width: 480, Height: 270, FPS: 50, Style: Limbs,
			Grain: 2, Ball: 0.01, Bat: Stick, Spread: 3, Distance: 7, Noise: -36, Echo: 0.7, Neighbours: 3, Down: 9},
		{Name: "shadow shots and talk", Seed: 18, Seconds: 150, Gap: 11, Left: 0.25, Width: 426, Height: 240, FPS: 30, Style: Blocks, Mirror: true,
			Grain: 2, Ball: 0.011, Bat: SideStick, Spread: 3, Distance: 6, Noise: -40, Talk: 0.5, TalkLevel: 0, Shadows: 0.7, Claps: 2},
		{Name: "no sound, side", Seed: 19, Seconds: 150, Gap: 8, Left: 0.15, Width: 480, Height: 270, FPS: 50, Style: Limbs,
			Grain: 2, Ball: 0.012, Mute: true, Shadows: 0.3, Walkers: 1},
		{Name: "no sound, behind the batter", Seed: 20, Seconds: 150, Gap: 9, Left: 0.2, Width: 426, Height: 240, FPS: 30, View: BehindBatter, Feed: Bowler,
			Grain: 3, Ball: 0.012, Mute: true, Shadows: 0.2},
		{Name: "no balls, talk and shadow shots", Seed: 21, Seconds: 120, Width: 426, Height: 240, FPS: 25, Style: Limbs,
			Grain: 2, Noise: -38, Distance: 6, Talk: 0.5, TalkLevel: -3, Shadows: 6, Neighbours: 1, Down: 14, Claps: 3, Walkers: 1},
		{Name: "windy, made sounds, dark ball", Seed: 22, Seconds: 120, Gap: 7, Left: 0.3, Width: 426, Height: 240, FPS: 50, Style: Sticks, Trees: true,
			Grain: 3, Ball: 0.012, Dark: true, Bat: Made, Spread: 3, Distance: 10, Noise: -34, Wind: -8, Shake: 0.003},
		{Name: "240 a second, spin", Seed: 23, Seconds: 60, Gap: 7, Left: 0.2, Flight: 1, Width: 320, Height: 180, FPS: 240, Feed: Bowler,
			Grain: 1, Ball: 0.014, Bat: Cajon, Spread: 3, Distance: 5, Noise: -42},
		{Name: "ball not to be seen, half left", Seed: 24, Seconds: 150, Gap: 8, Left: 0.4, Width: 426, Height: 240, FPS: 25, Style: Limbs, Flicker: 4,
			Grain: 3, Bat: Made, Spread: 3, Distance: 9, Noise: -36, Echo: 0.5, Neighbours: 1, Down: 12, Taps: 2},
		{Name: "short, six balls", Seed: 25, Seconds: 55, Gap: 8, Left: 0.15, Width: 480, Height: 270, FPS: 30, Style: Limbs, Feed: Thrower,
			Grain: 2, Ball: 0.01, Bat: SideStick, Spread: 3, Distance: 7, Noise: -40, Talk: 0.3, TalkLevel: -4},
		{Name: "silent track, shaken", Seed: 26, Seconds: 120, Gap: 7, Left: 0.1, Width: 426, Height: 240, FPS: 25, Style: Limbs,
			Shake: 0.006, Grain: 2, Ball: 0.012, Silent: true},
		{Name: "talk as loud as the bat, long breaks", Seed: 27, Seconds: 240, Gap: 8, Pause: 7, Left: 0.2, Width: 426, Height: 240, FPS: 25, View: BehindArm, Feed: Machine,
			Grain: 2, Ball: 0.008, Bat: Rimshot, Spread: 4, Distance: 15, Noise: -34, Hum: true, Talk: 0.6, TalkLevel: 1, Walkers: 2},
		{Name: "loud neighbours", Seed: 28, Seconds: 150, Gap: 7.5, Left: 0.15, Width: 426, Height: 240, FPS: 50, Style: Blocks,
			Grain: 2, Ball: 0.012, Bat: Cajon, Spread: 2.5, Distance: 8, Noise: -38, Echo: 0.6, Neighbours: 2, Down: 1},
	}
}

// Judging lists the scenes that the split is judged by.
func Judging() []Setting {
	return []Setting{
		{Name: "judge 1", Seed: 511, Seconds: 130, Gap: 7.7, Left: 0.17, Width: 640, Height: 360, FPS: 30, Style: Blocks, Size: 1.1,
			Grain: 1.5, Ball: 0.009, Bat: Cajon, Spread: 3.5, Distance: 7, Noise: -37, Echo: 0.4, Talk: 0.15, TalkLevel: -8, Shake: 0.001},
		{Name: "judge 2", Seed: 512, Seconds: 160, Gap: 10, Left: 0.22, Width: 568, Height: 320, FPS: 50, View: BehindBatter, Feed: Bowler, Style: Limbs,
			Grain: 4, Ball: 0.011, Bat: Clave, Spread: 2, Distance: 3, Noise: -39, Wind: -18, Walkers: 1},
		{Name: "judge 3", Seed: 513, Drop: 0.4, Seconds: 110, Gap: 6.2, Left: 0.12, Width: 480, Height: 270, FPS: 48, Style: Sticks, Mirror: true,
			Grain: 2, Ball: 0.013, Bat: WoodBlock, Spread: 4, Distance: 11, Noise: -35, Talk: 0.4, TalkLevel: -5, Claps: 2},
		{Name: "judge 4", Seed: 514, Seconds: 90, Gap: 6.5, Left: 0.15, Width: 234, Height: 416, Rotate: 90, FPS: 100, Style: Limbs, Size: 0.7, Feed: Thrower,
			Grain: 3, Ball: 0.012, Bat: Made, Spread: 3, Distance: 22, Noise: -29, Dull: 2300, Echo: 0.8},
		{Name: "judge 5", Seed: 515, Seconds: 130, Gap: 7, Left: 0.18, Width: 480, Height: 270, FPS: 25, Style: Sticks, View: BehindArm,
			Shake: 0.016, Grain: 1, Ball: 0.012, Bat: SideStick, Spread: 3, Distance: 14, Gain: 20, Noise: -40, Talk: 0.25, TalkLevel: -7},
		{Name: "judge 6", Seed: 516, Seconds: 90, Gap: 10, Burst: 8, Left: 0.15, Flight: 0.55, Width: 480, Height: 270, FPS: 60, Style: Blocks, Feed: Machine,
			Grain: 2, Ball: 0.01, Bat: Rimshot, Spread: 3, Distance: 9, Noise: -36, Hum: true},
		{Name: "judge 7", Seed: 517, Seconds: 140, Gap: 7, Left: 0.25, Width: 512, Height: 288, FPS: 30, Style: Sticks,
			Grain: 3, Ball: 0.011, Bat: RimClick, Spread: 3, Distance: 6, Noise: -34, Echo: 0.9, Neighbours: 3, Down: 6, Mirror: true},
		{Name: "judge 8", Seed: 518, Seconds: 160, Gap: 12, Left: 0.3, Width: 480, Height: 270, FPS: 50, Style: Limbs, Feed: Bowler,
			Grain: 2, Ball: 0.009, Bat: Cajon, Spread: 3, Distance: 5, Noise: -38, Talk: 0.6, TalkLevel: 2, Shadows: 0.9, Taps: 3},
		{Name: "judge 9", Seed: 519, Seconds: 140, Gap: 7, Left: 0.25, Width: 512, Height: 288, FPS: 25, Style: Blocks, Mirror: true,
			Grain: 1, Ball: 0.013, Mute: true, Walkers: 2, Shadows: 0.2},
		{Name: "judge 10", Seed: 520, Bitrate: 900_000, Seconds: 140, Gap: 8.5, Left: 0.1, Width: 480, Height: 270, FPS: 60, Style: Limbs, View: BehindArm, Feed: Machine,
			Grain: 2, Ball: 0.009, Mute: true, Shake: 0.004, Flicker: 3},
		{Name: "judge 11", Seed: 521, Seconds: 130, Width: 480, Height: 270, FPS: 30, Style: Blocks,
			Grain: 3, Noise: -35, Distance: 8, Talk: 0.6, TalkLevel: 0, Shadows: 8, Neighbours: 2, Down: 9, Claps: 5, Walkers: 2},
		{Name: "judge 12", Seed: 522, Seconds: 120, Gap: 9, Left: 0.35, Flight: 0.9, Width: 480, Height: 270, FPS: 25, Style: Limbs, Feed: Bowler, Trees: true,
			Grain: 2, Ball: 0.012, Dark: true, Bat: Stick, Spread: 4, Distance: 12, Noise: -32, Wind: -6},
		{Name: "judge 13", Seed: 523, Seconds: 50, Gap: 7, Left: 0.2, Width: 384, Height: 216, FPS: 200, Style: Blocks, Feed: Thrower,
			Grain: 2, Ball: 0.011, Bat: WoodBlock, Spread: 3, Distance: 4, Noise: -41, Taps: 2},
		{Name: "judge 14", Seed: 524, Seconds: 200, Gap: 6.5, Pause: 9, Left: 0.2, Width: 480, Height: 270, FPS: 30, Style: Sticks, View: BehindBatter, Feed: Machine,
			Grain: 3, Bat: Made, Spread: 2.5, Distance: 4, Noise: -37, Hum: true, Talk: 0.3, TalkLevel: -3, Neighbours: 1, Down: 4},
	}
}
