package blob

import (
	"encoding/hex"
	"fmt"
)

// OriginalKey is the blob of an original, named by its content: the same file
// in two sessions is stored once.
func OriginalKey(sha256 [32]byte) string { return "originals/" + hex.EncodeToString(sha256[:]) }

// ClipKey is the blob of a clip's file: which is "quick" or "smooth". The
// revision in the name lets a page hold a file for ever.
func ClipKey(clipID int64, revision int, which string) string {
	return fmt.Sprintf("clips/%d/%d-%s.mp4", clipID, revision, which)
}

// PosterKey is the blob of a clip's poster.
func PosterKey(clipID int64, revision int) string {
	return fmt.Sprintf("clips/%d/%d-poster.jpg", clipID, revision)
}

// ExportKey is the blob of a film.
func ExportKey(exportID int64) string { return fmt.Sprintf("exports/%d.mp4", exportID) }
