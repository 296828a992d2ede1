package api

import (
	"context"
	"time"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// linkLife is how long a one-time link is good for.
const linkLife = 7 * 24 * time.Hour

func (s *Server) accounts(ctx context.Context, v tagging.Viewer, _ none) ([]wireAccount, error) {
	list, err := s.store.Accounts(ctx, v)
	return each(list, toAccount), err
}

func (s *Server) invite(ctx context.Context, v tagging.Viewer, in create[wireInvitation]) (wireInvited, error) {
	account, err := s.store.AddAccount(ctx, v, tagging.NewAccount{
		Name: in.Body.Name, Email: in.Body.Email, Role: tagging.Role(in.Body.Role), PlayerID: in.Body.PlayerID})
	if err != nil {
		return wireInvited{}, err
	}
	return s.invited(ctx, v, account)
}

func (s *Server) newLink(ctx context.Context, v tagging.Viewer, in byID) (wireInvited, error) {
	account, err := s.accountByID(ctx, v, in.ID)
	if err != nil {
		return wireInvited{}, err
	}
	return s.invited(ctx, v, account)
}

// invited makes the link that is shown once.
func (s *Server) invited(ctx context.Context, v tagging.Viewer, a tagging.Account) (wireInvited, error) {
	expires := time.Now().Add(linkLife).UTC()
	secret, err := s.store.NewLink(ctx, v, a.ID, linkLife)
	return wireInvited{Account: toAccount(a), Link: s.publicURL + "/join/" + secret, Expires: expires}, err
}

func (s *Server) accountByID(ctx context.Context, v tagging.Viewer, id int64) (tagging.Account, error) {
	list, err := s.store.Accounts(ctx, v)
	if err != nil {
		return tagging.Account{}, err
	}
	for _, a := range list {
		if a.ID == id {
			return a, nil
		}
	}
	return tagging.Account{}, fault.New(fault.NotFound, "api.accountByID", "There is no such account in your squad.")
}

func (s *Server) changeAccount(ctx context.Context, v tagging.Viewer, in change[wireAccountChange]) (wireAccount, error) {
	now, err := s.accountByID(ctx, v, in.ID)
	if err != nil {
		return wireAccount{}, err
	}
	email := now.Email
	if in.Body.Email != nil {
		email = *in.Body.Email
	}
	a, err := s.store.ChangeAccount(ctx, v, in.ID, in.Body.Name, email, in.Body.Disabled)
	return toAccount(a), err
}

func (s *Server) renameSquad(ctx context.Context, v tagging.Viewer, in create[wireSquad]) (none, error) {
	return none{}, s.store.RenameSquad(ctx, v, in.Body.Name)
}

func (s *Server) players(ctx context.Context, v tagging.Viewer, _ none) ([]wirePlayer, error) {
	list, err := s.store.Players(ctx, v)
	return each(list, toPlayer), err
}

func (s *Server) addPlayer(ctx context.Context, v tagging.Viewer, in create[wirePlayerInput]) (wirePlayer, error) {
	p, err := s.store.AddPlayer(ctx, v, in.Body.player(0))
	return toPlayer(p), err
}

func (s *Server) changePlayer(ctx context.Context, v tagging.Viewer, in change[wirePlayerInput]) (wirePlayer, error) {
	p, err := s.store.ChangePlayer(ctx, v, in.Body.player(in.ID))
	return toPlayer(p), err
}

// editionInput asks for an edition of the vocabulary; 0 is the current one.
type editionInput struct{ Number int }

func (in *editionInput) bind(c echo.Context) (err error) {
	in.Number, err = queryInt(c.QueryParams(), "edition", 0)
	return err
}

func (s *Server) vocabulary(ctx context.Context, v tagging.Viewer, in editionInput) (vocabulary.Edition, error) {
	e, err := s.store.Vocabulary(ctx, v, in.Number)
	return toVocabulary(e), err
}

func (s *Server) saveVocabulary(ctx context.Context, v tagging.Viewer, in create[vocabulary.Edition]) (vocabulary.Edition, error) {
	e, err := s.store.SaveVocabulary(ctx, v, in.Body)
	return toVocabulary(e), err
}
