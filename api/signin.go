package api

import (
	"context"
	"fmt"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
)

// maxEmail is longer than any address can be (RFC 5321, section 4.5.3.1).
const maxEmail = 320

// signIn answers a wrong password, an unknown email, an account without a
// password and a disabled one alike, after the same work.
func (s *Server) signIn(c echo.Context) error {
	var in wireSignIn
	if err := readJSON(c, maxBody, &in); err != nil {
		return err
	}
	email := strings.ToLower(strings.TrimSpace(in.Email))
	if len(email) > maxEmail {
		email = email[:maxEmail] // nobody's; and the throttle remembers it
	}
	if wait := s.throttle.wait(email, c.RealIP()); wait > 0 {
		seconds := int(wait.Seconds()) + 1
		return &refusal{status: http.StatusTooManyRequests, header: map[string]string{"Retry-After": fmt.Sprint(seconds)},
			detail: fmt.Sprintf("Too many tries. Wait %d seconds, or ask your coach for a new one-time link.", seconds)}
	}
	ctx := c.Request().Context()
	account, hash, err := s.store.Login(ctx, email)
	if err != nil && fault.KindOf(err) != fault.NotFound && fault.KindOf(err) != fault.Unauthorised {
		return err
	}
	right, checkErr := s.passwords.check(ctx, in.Password, hash)
	if checkErr != nil {
		return checkErr
	}
	if err != nil || !right || account.Disabled {
		return fault.New(fault.Unauthorised, "api.signIn",
			"Email or password is not right. If you never set a password, ask your coach for a one-time link.")
	}
	s.throttle.forget(email, c.RealIP())
	if err := s.beginSession(c, account); err != nil {
		return err
	}
	return send(c, http.StatusOK, toMe(account))
}

// peekLink says whose a one-time link is, so that the page can greet them.
func (s *Server) peekLink(c echo.Context) error {
	account, err := s.store.PeekLink(c.Request().Context(), c.Param("secret"))
	if err != nil {
		return err
	}
	return send(c, http.StatusOK, wireLinkInfo{Name: account.Name, Squad: account.Squad, Role: string(account.Role),
		Email: account.Email, HasPassword: account.HasLogin})
}

// useLink signs in by a one-time link. Everything that can be wrong is looked
// at before the link is used up.
func (s *Server) useLink(c echo.Context) error {
	var in wireUseLink
	if err := readJSON(c, maxBody, &in); err != nil {
		return err
	}
	ctx, secret := c.Request().Context(), c.Param("secret")
	account, err := s.store.PeekLink(ctx, secret)
	if err != nil {
		return err
	}
	if (in.Name != "" || in.Squad != "") && account.Role != tagging.Coach {
		return fault.New(fault.Forbidden, "api.useLink", "Only a coach may change the names. Ask yours.")
	}
	hash := ""
	if in.Password != "" {
		if hash, err = s.passwords.hash(ctx, in.Password); err != nil {
			return err
		}
	}
	if account, err = s.store.UseLink(ctx, secret); err != nil {
		return err
	}
	if err := s.beginSession(c, account); err != nil {
		return err
	}
	if account, err = s.settleIn(ctx, account, in, hash); err != nil {
		return err
	}
	return send(c, http.StatusOK, toMe(account))
}

// settleIn keeps what somebody who used a link said of themselves.
func (s *Server) settleIn(ctx context.Context, a tagging.Account, in wireUseLink, hash string) (tagging.Account, error) {
	v := tagging.Viewer{AccountID: a.ID, SquadID: a.SquadID, Role: a.Role, PlayerID: a.PlayerID}
	if hash != "" {
		if err := s.store.SetPassword(ctx, a.ID, hash); err != nil {
			return a, err
		}
	}
	if in.Name != "" && in.Name != a.Name {
		if _, err := s.store.ChangeAccount(ctx, v, a.ID, in.Name, a.Email, false); err != nil {
			return a, err
		}
	}
	if in.Squad != "" && in.Squad != a.Squad {
		if err := s.store.RenameSquad(ctx, v, in.Squad); err != nil {
			return a, err
		}
	}
	return s.store.Account(ctx, a.ID)
}

func (s *Server) me(ctx context.Context, _ tagging.Viewer, _ none) (wireMe, error) {
	return toMe(accountOf(ctx)), nil
}

// setPassword sets the caller's password and signs them out everywhere else.
func (s *Server) setPassword(ctx context.Context, v tagging.Viewer, in create[wirePassword]) (none, error) {
	hash, err := s.passwords.hash(ctx, in.Body.Password)
	if err != nil {
		return none{}, err
	}
	if err := s.store.SetPassword(ctx, v.AccountID, hash); err != nil {
		return none{}, err
	}
	return none{}, s.endOtherSessions(ctx, v.AccountID)
}
