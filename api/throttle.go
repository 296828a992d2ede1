package api

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// How often a sign-in may be tried: a few times at once and then slowly for
// one email from one address, and more generously for one address, behind
// which a whole club may sit.
const (
	triesAtOnce   = 6
	tryEvery      = 20 * time.Second
	addressAtOnce = 60
	addressEvery  = 2 * time.Second
	throttleKeeps = 10_000 // limiters kept; those that have recovered go first
)

// throttle slows guessing down.
type throttle struct {
	now func() time.Time

	mu       sync.Mutex
	limiters map[string]*rate.Limiter
}

func newThrottle(now func() time.Time) *throttle {
	return &throttle{now: now, limiters: map[string]*rate.Limiter{}}
}

// wait counts a try and says how long to wait before the next; 0 means that
// this one may go on. A try that is refused is not counted.
func (t *throttle) wait(email, address string) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	now := t.now()
	t.tidy(now)
	one := t.limiter(email+"\x00"+address, tryEvery, triesAtOnce).ReserveN(now, 1)
	all := t.limiter("\x00"+address, addressEvery, addressAtOnce).ReserveN(now, 1)
	wait := max(one.DelayFrom(now), all.DelayFrom(now))
	if wait > 0 {
		one.CancelAt(now)
		all.CancelAt(now)
	}
	return wait
}

// forget clears the count of an email and address that signed in.
func (t *throttle) forget(email, address string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.limiters, email+"\x00"+address)
}

func (t *throttle) limiter(key string, every time.Duration, burst int) *rate.Limiter {
	l, ok := t.limiters[key]
	if !ok {
		l = rate.NewLimiter(rate.Every(every), burst)
		t.limiters[key] = l
	}
	return l
}

// tidy keeps memory bounded: limiters that have recovered say nothing any
// more. If that is not enough, all go: somebody tries from very many addresses,
// against which a limit by address does not help.
func (t *throttle) tidy(now time.Time) {
	if len(t.limiters) < throttleKeeps {
		return
	}
	for key, l := range t.limiters {
		if l.TokensAt(now) >= float64(l.Burst()) {
			delete(t.limiters, key)
		}
	}
	if len(t.limiters) >= throttleKeeps {
		clear(t.limiters)
	}
}
