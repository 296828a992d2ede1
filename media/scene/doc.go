// Package scene renders invented footage of a net session whose truth is
// known: what every page of the demo shows and what the split is scored
// against.
//
// A Setting and its seed fix everything. New plans the session (who bats, what
// is fed, where each ball goes, how it is met), Render films it: a perspective
// camera over a model in metres, painted straight into video frames, and the
// sound that a microphone beside the camera would pick up.
//
// The package must not know ffmpeg, the split or anything that finds balls; it
// hands frames and sound to an Encoder. Everybody and everything in it is
// invented.
package scene
