package store_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// A scan must not read the whole shop: SQLite says how it would find the rows.
func TestScansAreFoundByAnIndex(t *testing.T) {
	shoptest.NeedSQLite(t, "the plan of a query is told in its own words")
	s := openShop(t)
	db := s.raw()
	for index, query := range store.HotQueries {
		args := make([]any, strings.Count(query, "?"))
		for i := range args {
			args[i] = 1
		}
		rows, err := db.Query("EXPLAIN QUERY PLAN "+query, args...)
		require.NoError(t, err)
		var plan []string
		for rows.Next() {
			var id, parent, unused int
			var detail string
			require.NoError(t, rows.Scan(&id, &parent, &unused, &detail))
			plan = append(plan, detail)
		}
		require.NoError(t, rows.Close())
		require.NotEmpty(t, plan)
		assert.True(t, strings.HasPrefix(plan[0], "SEARCH part_states USING"), "%s: %v", query, plan)
		assert.Contains(t, fmt.Sprint(plan), index, query)
	}
}
