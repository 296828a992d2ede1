package split_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/scene/plain"
)

// film encodes a scene as it would be filmed.
func film(tb testing.TB, tool *ffmpeg.Tool, w *plain.World) string {
	tb.Helper()
	dir := tb.TempDir()
	var wav string
	if sound := w.Sound(); sound != nil {
		wav = filepath.Join(dir, "sound.wav")
		var raw bytes.Buffer
		require.NoError(tb, binary.Write(&raw, binary.LittleEndian, sound))
		require.NoError(tb, os.WriteFile(wav+".f32", raw.Bytes(), 0o644))
		fftest.FFmpeg(tb, "-f", "f32le", "-ar", fmt.Sprint(plain.Rate), "-ac", "1", "-i", wav+".f32", wav)
	}
	path := filepath.Join(dir, "film.mp4")
	err := tool.EncodeRaw(tb.Context(), ffmpeg.Raw{Width: w.Width, Height: w.Height, FPS: w.FPS, Sound: wav, Dst: path, Preset: "ultrafast"}, func(out io.Writer) error {
		buf := make([]byte, w.Width*w.Height*3/2)
		for i := range w.Frames() {
			w.Picture(i, buf)
			if _, err := out.Write(buf); err != nil {
				return err
			}
		}
		return nil
	})
	require.NoError(tb, err)
	return path
}
