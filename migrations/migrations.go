// Package migrations holds the numbered SQL files that build the database.
// One file is one transaction; none says begin, commit or concurrently.
package migrations

import "embed"

// Files are named NNNN_noun.up.sql and NNNN_noun.down.sql.
//
//go:embed *.sql
var Files embed.FS
