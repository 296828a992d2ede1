package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"

	"netreel/media/align"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
)

// alignLine is how one file's clock lies on another's, as `netreel align`
// prints it. A refused pair has a confidence below 0.5, and nulls when not even
// a guess can be made.
type alignLine struct {
	Offset     *float64 `json:"offset_s"`   // seconds: the time on A's clock at which B's clock reads zero
	Rate       *float64 `json:"rate_ppm"`   // a = offset_s + b*(1 + rate_ppm/1e6): positive when A's clock runs faster
	Confidence float64  `json:"confidence"` // 0 to 1
}

const alignHelp = `Use: netreel align [--metres-a M] [--metres-b M] A B

Finds by their sound how the clock of recording B lies on that of recording A
and prints it as JSON: {"offset_s", "rate_ppm", "confidence"}.

  offset_s    the time on A's clock, in seconds, at which B's clock reads zero;
              negative when B began before A
  rate_ppm    drift in parts per million: a time b of B is
              offset_s + b*(1 + rate_ppm/1e6) on A's clock, so it is positive
              when A's clock runs faster than B's
  confidence  0 to 1: how likely the offset is right within 10 ms

Below a confidence of 0.5 the answer is not to be used: the reason is said on
stderr and the exit code is 1. The two numbers are then a guess, or null.

Sound is late by 2.9 ms a metre. Say how far each camera stands from the
batter to have that taken off:
`

// runAlign prints how one file's clock lies on another's. It needs no database.
func runAlign(ctx context.Context, c call) error {
	const op = "align"
	flags := flag.NewFlagSet("align", flag.ContinueOnError)
	flags.SetOutput(c.stderr)
	var d align.Distances
	flags.Float64Var(&d.A, "metres-a", 0, "`metres` from A's camera to the batter")
	flags.Float64Var(&d.B, "metres-b", 0, "`metres` from B's camera to the batter")
	flags.Usage = func() {
		fmt.Fprint(c.stderr, alignHelp)
		flags.PrintDefaults()
	}
	if err := flags.Parse(c.args); err != nil {
		return err
	}
	if flags.NArg() != 2 {
		flags.Usage()
		return fault.New(fault.Invalid, op, "Name two recordings of the same session.")
	}
	tool, err := ffmpeg.Find(c.log)
	if err != nil {
		return err
	}
	m, err := alignFiles(ctx, tool, flags.Arg(0), flags.Arg(1), d)
	if err != nil {
		return err
	}
	if err := writeAlign(c.stdout, m); err != nil {
		return err
	}
	if m.Refused() {
		return fault.New(fault.Unsupported, op, "These two could not be laid on one clock. "+m.Why)
	}
	return nil
}

func alignFiles(ctx context.Context, tool *ffmpeg.Tool, a, b string, d align.Distances) (align.Match, error) {
	for _, path := range []string{a, b} {
		p, err := tool.Probe(ctx, path)
		if err != nil {
			return align.Match{}, err
		}
		if !p.HasSound() {
			return align.Match{Why: path + " has no sound."}, nil
		}
	}
	return align.Find(ctx, tool.File(a), tool.File(b), d)
}

func writeAlign(w io.Writer, m align.Match) error {
	line := alignLine{Confidence: math.Round(m.Confidence*1000) / 1000}
	if m.Overlap > 0 {
		offset, rate := math.Round(m.Clock.Offset.Seconds()*1e5)/1e5, math.Round(m.Clock.RatePPM*10)/10
		line.Offset, line.Rate = &offset, &rate
	}
	return json.NewEncoder(w).Encode(line)
}
