package server

import (
	"crypto/sha256"
	"encoding/base64"
	"strings"
)

// digestField carries the SHA-256 of a body (RFC 9530, Content-Digest). A device may send it; then a body that was altered on the way is turned away whole, where without it an altered digit in a reading would be
// another entry, in the name of somebody who never wrote it. The server sends it with every JSON answer, for a device to look at before it stores what came.
const digestField = "Content-Digest"

func digestOf(body []byte) string {
	sum := sha256.Sum256(body)
	return "sha-256=:" + base64.StdEncoding.EncodeToString(sum[:]) + ":"
}

// checkDigest compares the body with the digest that came with it. Without one, and with those of other algorithms alone, it says nothing.
func checkDigest(r *request) error {
	for member := range strings.SplitSeq(r.header["content-digest"], ",") {
		if member = strings.TrimSpace(member); strings.HasPrefix(member, "sha-256=") && member != digestOf(r.body) {
			return faultf(codeAltered, "the body is not what its digest was made of: it was altered or cut on the way; nothing of it was kept; send it again")
		}
	}
	return nil
}
