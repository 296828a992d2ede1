package api

import (
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"sync"
)

// tickets sign in the browser that prints a page in somebody's name. A ticket
// is held in memory for as long as one print takes, it is good for reading
// only, and it is kept as its hash alone. The reader's own cookie is not
// handed on: it would let a browser write.
type tickets struct {
	mu   sync.Mutex
	held map[[sha256.Size]byte]int64 // hash -> account
}

// ticketHeader carries a ticket.
const ticketHeader = "X-Netreel-Ticket"

func newTickets() *tickets { return &tickets{held: map[[sha256.Size]byte]int64{}} }

// issue makes a ticket for an account; it holds until revoke is called.
func (t *tickets) issue(account int64) (ticket string, revoke func()) {
	ticket = rand.Text()
	hash := sha256.Sum256([]byte(ticket))
	t.mu.Lock()
	defer t.mu.Unlock()
	t.held[hash] = account
	return ticket, func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		delete(t.held, hash)
	}
}

// holder is the account in whose name a request is made by a ticket, 0 if it
// is by none that holds, or is one that would change something.
func (t *tickets) holder(r *http.Request) int64 {
	ticket := r.Header.Get(ticketHeader)
	if ticket == "" || r.Method != http.MethodGet && r.Method != http.MethodHead {
		return 0
	}
	hash := sha256.Sum256([]byte(ticket))
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.held[hash]
}
