package access

import "errors"

// What can be wrong at the door. Messages of wrapped errors are fit to be shown to whoever asks: they hold no secrets.
var (
	ErrMalformed    = errors.New("not a token or a code of this kind")
	ErrToken        = errors.New("the token is not good here")
	ErrExpired      = errors.New("the token has expired")
	ErrSessionEnded = errors.New("the session has ended")
	ErrCode         = errors.New("the code is not good")
	ErrName         = errors.New("not a name")
)
