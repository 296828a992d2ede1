package db_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db/dbtest"
)

// TestEveryStatementPrepares gives each constant named sql... to PostgreSQL,
// so that a misspelt column fails here and not on somebody's evening.
func TestEveryStatementPrepares(t *testing.T) {
	t.Parallel()
	statements := packageStatements(t)
	require.Greater(t, len(statements), 80, "the constants were found")
	conn, err := dbtest.Store(t).Pool().Acquire(t.Context())
	require.NoError(t, err)
	defer conn.Release()
	for name, sql := range statements {
		_, err := conn.Conn().Prepare(t.Context(), name, numbered(sql))
		assert.NoError(t, err, name)
	}
}

var namedArgument = regexp.MustCompile(`(^|[^@])@([a-z_]\w*)`)

// numbered rewrites @name to $1, $2 ...
func numbered(sql string) string {
	numbers := map[string]int{}
	return namedArgument.ReplaceAllStringFunc(sql, func(m string) string {
		before, name, _ := strings.Cut(m, "@")
		if numbers[name] == 0 {
			numbers[name] = len(numbers) + 1
		}
		return fmt.Sprintf("%s$%d", before, numbers[name])
	})
}

// packageStatements reads the package's source: it returns the values of all
// constants named sql....
func packageStatements(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob("*.go")
	require.NoError(t, err)
	constants := map[string]ast.Expr{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		for _, d := range file.Decls {
			decl, ok := d.(*ast.GenDecl)
			if !ok || decl.Tok != token.CONST {
				continue
			}
			for _, s := range decl.Specs {
				spec := s.(*ast.ValueSpec)
				for i, name := range spec.Names {
					if i < len(spec.Values) {
						constants[name.Name] = spec.Values[i]
					}
				}
			}
		}
	}
	statements := map[string]string{}
	for name, expr := range constants {
		if strings.HasPrefix(name, "sql") {
			statements[name] = evaluate(t, constants, expr)
		}
	}
	return statements
}

func evaluate(t *testing.T, constants map[string]ast.Expr, expr ast.Expr) string {
	t.Helper()
	switch e := expr.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		require.NoError(t, err)
		return s
	case *ast.BinaryExpr:
		return evaluate(t, constants, e.X) + evaluate(t, constants, e.Y)
	case *ast.Ident:
		return evaluate(t, constants, constants[e.Name])
	}
	t.Fatalf("a statement is made of %T", expr)
	return ""
}
