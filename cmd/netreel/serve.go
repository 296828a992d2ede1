package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"netreel/db"
	"netreel/media/fault"
)

// linkLife is how long a printed sign-in link is good for.
const linkLife = 7 * 24 * time.Hour

// runServe starts the server and serves until it is told to stop.
func runServe(ctx context.Context, c call) error {
	_, finish := newFlags("serve", c.getenv, c.stderr)
	cfg, err := finish(c.args)
	if err != nil {
		return err
	}
	app, err := New(ctx, cfg, c.log)
	if err != nil {
		return err
	}
	secret, err := app.unclaimedLink(ctx)
	if err == nil {
		fmt.Fprintf(c.stdout, "netreel is at %s\n", app.URL())
		if secret != "" {
			fmt.Fprintf(c.stdout, "First coach, sign in once within seven days at %s/join/%s\n", app.URL(), secret)
		}
		err = app.Run(ctx)
	}
	return errors.Join(err, app.Close())
}

// unclaimedLink makes the squad and its first coach on the first run and
// returns the secret of their link. As long as that coach has not signed in,
// every start gives a new one; afterwards it is "".
func (a *App) unclaimedLink(ctx context.Context) (string, error) {
	_, secret, _, err := a.store.FirstCoach(ctx, "Our squad", "Coach")
	return secret, err
}

// coachLink is a one-time link of the first coach, made with the squad if need
// be.
func (a *App) coachLink(ctx context.Context, squad, name string) (string, error) {
	_, secret, fresh, err := a.store.FirstCoach(ctx, squad, name)
	if err != nil || fresh {
		return secret, err
	}
	coach, err := a.store.FirstCoachOf(ctx)
	if err != nil {
		return "", err
	}
	return a.store.NewLinkFor(ctx, coach.ID, linkLife)
}

// runLink prints a one-time link for an account, beside a running server or
// without one.
func runLink(ctx context.Context, c call) error {
	fs, finish := newFlags("link", c.getenv, c.stderr)
	cfg, err := finish(c.args)
	if err != nil {
		return err
	}
	if fs.NArg() != 1 {
		return fault.New(fault.Invalid, "link", "Say whose link: netreel link EMAIL, or the account's number.")
	}
	return withStore(ctx, cfg, c.log, func(s *db.Store, address string) error {
		if address == "" {
			return fault.New(fault.Invalid, "link", "Say by which address people reach the server: netreel link ... --public-url ADDRESS")
		}
		account, err := s.AccountNamed(ctx, strings.TrimSpace(fs.Arg(0)))
		if err != nil {
			return err
		}
		secret, err := s.NewLinkFor(ctx, account.ID, linkLife)
		if err != nil {
			return err
		}
		fmt.Fprintf(c.stdout, "%s, sign in once within seven days at %s/join/%s\n", account.Name, address, secret)
		return nil
	})
}
