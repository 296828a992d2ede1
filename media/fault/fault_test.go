package fault_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/media/fault"
)

func TestTextForTheLog(t *testing.T) {
	t.Parallel()
	full := fault.Wrap(errors.New("ENOSPC"), fault.Unavailable, "blob.Adopt", "The disk is full.")
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"nothing said", &fault.Error{Kind: fault.NotFound}, "not-found"},
		{"all said", full, "blob.Adopt: The disk is full.: ENOSPC"},
		{"another place", fault.At("jobs.cut", full), "jobs.cut: blob.Adopt: The disk is full.: ENOSPC"},
		{"two more places", fault.At("jobs.run", fault.At("jobs.cut", full)), "jobs.run: jobs.cut: blob.Adopt: The disk is full.: ENOSPC"},
		{"another message", fault.Wrap(full, fault.Internal, "jobs.cut", "No clip."), "jobs.cut: No clip.: blob.Adopt: The disk is full.: ENOSPC"},
		{"a place of a plain error", fault.At("db.Find", errors.New("gone")), "db.Find: gone"},
	} {
		assert.Equal(t, c.want, c.err.Error(), c.name)
	}
	assert.Equal(t, "The disk is full.", fault.Message(fault.At("jobs.cut", full)))
	assert.Equal(t, fault.Unavailable, fault.KindOf(fault.At("jobs.cut", full)))
	assert.NoError(t, fault.At("jobs.cut", nil))
	assert.NoError(t, fault.Wrap(nil, fault.Invalid, "x", "y"))
}
