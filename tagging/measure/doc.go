// Package measure takes measurements off the picture of one camera: it
// calibrates the camera from clicks on points whose place the Laws fix, and
// turns clicks on feet, joints, bat and ball into centimetres, degrees and
// kilometres an hour, each with its standard deviation.
//
// The values are coaching estimates from one camera, not laboratory motion
// analysis nor medical advice. What a view can't support is refused with the
// reason, or carries a caveat.
//
// The way of a value. Calibrate gives a Calibration: a ground plane's
// homography, a pinhole camera for what stands above the ground, and how both
// move when one of the clicks moves by its standard deviation. A Measure (see
// Measures) asks the calibration for places and computes one number from them.
// Its standard deviation is propagated to first order from every click, the
// calibration and the frame interval.
//
// Frame: that of package laws, metres, left-handed: the origin on the ground
// at the striker's middle stump, x towards the bowler, y to the off side of a
// right-hander, z up. Pixels: x to the right, y down, (0, 0) at the outer
// corner of the first pixel, of the picture as shown (after rotation).
//
// The package is pure. It must not know where calibrations and values are
// kept, how they are shown, or what proposes the points.
package measure
