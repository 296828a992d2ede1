package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"math"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/media/split"
)

// splitLine is one ball as `netreel split` prints it: seconds on the file's own
// clock, rounded to the millisecond.
type splitLine struct {
	Start      float64  `json:"start_s"`
	Contact    *float64 `json:"contact_s"` // null when nothing was struck
	End        float64  `json:"end_s"`
	Confidence float64  `json:"confidence"` // 0 to 1
}

// runSplit prints the deliveries of one file as JSON lines. It needs no
// database. What could not be used of the file is said on stderr.
func runSplit(ctx context.Context, args []string, stdout, stderr io.Writer, log *slog.Logger) error {
	const op = "split"
	flags := flag.NewFlagSet("split", flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.Usage = func() {
		fmt.Fprintln(stderr, "Use: netreel split FILE\n\nPrints one JSON line for each ball: start_s, contact_s (null when nothing was struck), end_s, confidence.")
	}
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		flags.Usage()
		return fault.New(fault.Invalid, op, "Name one file of footage.")
	}
	path := flags.Arg(0)
	tool, err := ffmpeg.Find(log)
	if err != nil {
		return err
	}
	probe, err := tool.Probe(ctx, path)
	if err != nil {
		return err
	}
	found, err := split.Find(ctx, ffmpeg.File{Tool: tool, Path: path}, probe, split.Watch{})
	if err != nil {
		return err
	}
	for _, note := range found.Notes {
		fmt.Fprintln(stderr, "netreel:", note)
	}
	return writeSplit(stdout, found.Deliveries)
}

func writeSplit(w io.Writer, found []media.Delivery) error {
	out := bufio.NewWriter(w)
	lines := json.NewEncoder(out)
	for _, d := range found {
		line := splitLine{Start: milli(d.Start), End: milli(d.End), Confidence: math.Round(d.Confidence*1000) / 1000}
		if d.Contact != nil {
			at := milli(*d.Contact)
			line.Contact = &at
		}
		if err := lines.Encode(line); err != nil {
			return err
		}
	}
	return out.Flush()
}

// milli gives seconds rounded to the millisecond.
func milli(m media.Micros) float64 { return math.Round(m.Seconds()*1000) / 1000 }
