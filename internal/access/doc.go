// Package access knows who is at the door: people, the devices they carry, the sessions that bind one to the other, and the tokens that prove a
// session. What a person may do is not decided here: roles are grants in the shop's own record, and this package only keeps the last fold of
// it at hand (see [Desk.Learn]).
//
// # From code to session
//
// Somebody in charge makes an enrolment code for a person ([Desk.NewCode]). The code is typed or scanned once, on the person's device; it is
// good for minutes, and for one use. It buys a session: an access token for quarter of an hour, which every request carries, and a refresh
// token, which buys the next pair. A session ends when it is told to, when it has not been used for [Lifetimes].Refresh, or when one of its spent
// refresh tokens turns up again.
//
// # Rotation, and the answer that got lost
//
// Each refresh token has a generation. Using one of generation g buys one of generation g+1. The workshop's network drops answers, so a device may have
// used its token and never seen the new one; two tabs may refresh at the same moment. So the token of generation g stays good until some token of
// generation g+1 is used for the first time:
//
//	presented is of a later generation than the last one used   → it becomes the last one used; a new pair
//	presented is the last one used                              → its answer was lost: another new pair of the same generation
//	presented is of an earlier generation, or a sibling of the
//	last one used                                               → somebody has a copy: the session ends, and says so
//
// A store that was restored from a backup knows less than the tokens do. Tokens are signed with a key that is kept in the store and thus in its backups; so a
// later generation than expected, or a session that the store has never heard of, means that the store went back in time, and the token is believed.
//
// # Tokens
//
// Both are JSON Web Tokens (RFC 7519), signed with HMAC-SHA-256 and nothing else, expiry required, with issuer and audience checked; the audience contains the store's
// server id and the token's use, so that neither can stand for the other or serve at another server. An access token is refused as soon as its session has ended, not only when it expires.
//
// # What is stored
//
// Rows of the store's side tables under "access/": the key, codes (hashed under the key, never in clear), sessions, devices. Tokens are not stored.
//
// Clock and randomness are handed in. All methods may be called from many goroutines.
package access
