// Package fault is the error type of the whole house.
//
// Every error that reaches a person carries two texts: Msg, which says what
// happened and what to do next, and Err, which is for the log alone. The class
// of the error (Kind) decides the HTTP status (api/problem.go) and whether a
// job is tried again (media/jobs/retry.go).
//
// The package is a leaf: it imports the standard library only and must not
// know HTTP, SQL or ffmpeg.
package fault

import (
	"errors"
	"strings"
)

// Kind is the class of an error. The zero value is Internal, so that an error
// whose author forgot the kind is treated as our own mistake.
type Kind int

// The kinds. Kinds lists them all, for tables that must be complete.
const (
	Internal     Kind = iota // our own mistake; the person can only try again
	Invalid                  // the input breaks a rule that the message names
	NotFound                 // no such thing, or not for this person
	Conflict                 // somebody else changed it first, or it exists already
	TooLarge                 // more than is accepted
	Unsupported              // well-formed, but of a sort that can't be handled
	Unauthorised             // not signed in
	Forbidden                // signed in, but not allowed
	Unavailable              // not now: full disk, database away; trying again helps
	kindCount
)

var kindNames = [kindCount]string{
	"internal", "invalid", "not-found", "conflict", "too-large",
	"unsupported", "unauthorised", "forbidden", "unavailable",
}

// String gives the kind's name as used in problem types: "not-found".
func (k Kind) String() string {
	if k < 0 || k >= kindCount {
		return "internal"
	}
	return kindNames[k]
}

// Kinds returns every kind, for tests that range over them.
func Kinds() []Kind {
	all := make([]Kind, kindCount)
	for i := range all {
		all[i] = Kind(i)
	}
	return all
}

// Field names one input that was wrong and why.
type Field struct {
	Name   string `json:"field"`
	Reason string `json:"reason"`
}

// Error is an error with a class and a text for the person.
type Error struct {
	Op     string  // where: "db.AddReel"
	Kind   Kind    // class
	Msg    string  // for the person: what happened and what to do next
	Fields []Field // which input was wrong; may be empty
	Err    error   // for the log; may be nil
}

// Error gives the text for the log: operation, message and cause. A message
// that was taken over from the cause is said once, there.
func (e *Error) Error() string {
	var parts []string
	msg := e.Msg
	if msg == Message(e.Err) {
		msg = ""
	}
	for _, s := range []string{e.Op, msg} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if e.Err != nil {
		parts = append(parts, e.Err.Error())
	}
	if len(parts) == 0 {
		return e.Kind.String()
	}
	return strings.Join(parts, ": ")
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// New makes an error of a kind with a text for the person.
func New(kind Kind, op, msg string, fields ...Field) *Error {
	return &Error{Op: op, Kind: kind, Msg: msg, Fields: fields}
}

// Wrap adds an operation, a kind and a text for the person to a cause.
// A nil cause gives nil.
func Wrap(err error, kind Kind, op, msg string) error {
	if err == nil {
		return nil
	}
	return &Error{Op: op, Kind: kind, Msg: msg, Err: err}
}

// At adds only the operation: kind, message and fields are those of the cause.
// A nil cause gives nil.
func At(op string, err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*Error](err); ok {
		return &Error{Op: op, Kind: e.Kind, Msg: e.Msg, Fields: e.Fields, Err: err}
	}
	return &Error{Op: op, Err: err}
}

// KindOf returns the kind of the outermost Error in the chain, Internal if
// there is none.
func KindOf(err error) Kind {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return Internal
}

// Message returns the text for the person: that of the outermost Error in the
// chain that has one, else "".
func Message(err error) string {
	for err != nil {
		e, ok := errors.AsType[*Error](err)
		if !ok {
			return ""
		}
		if e.Msg != "" {
			return e.Msg
		}
		err = e.Err
	}
	return ""
}
