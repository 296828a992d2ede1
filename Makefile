# What is done with netreel: `make` lists it. Needs Go and git; `make setup`
# installs the rest on Debian and Ubuntu.

SHELL := bash
.SHELLFLAGS := -euo pipefail -c
.DELETE_ON_ERROR:
.DEFAULT_GOAL := help
MAKEFLAGS += --no-builtin-rules --no-print-directory

# A Node.js that deploy/setup.sh put here, where the system's is too old.
export PATH := $(CURDIR)/bin/node/node_modules/.bin:$(PATH)

GOLANGCI_VERSION := 2.15.0
GOLANGCI := bin/tools/golangci-lint-$(GOLANGCI_VERSION)

# Where `make demo` keeps its data, and with ONCE=1 whether it ends when done.
DATA := data/demo
ONCE :=

# What `make generate` writes: committed, and checked to be current.
GENERATED := frontend/src/api/schema.d.ts

PAGE := frontend/dist/index.html
PAGE_SOURCES := $(shell find frontend/src frontend/public -type f 2>/dev/null) \
	$(wildcard frontend/*.html frontend/*.js frontend/*.ts frontend/*.json)
MODULES := frontend/node_modules/.installed

# Two packages' tests at a time, since some of them run a browser, PostgreSQL
# and ffmpeg all at once. The timeout only ends what hangs: on a slow machine the
# program's own tests alone take more than twenty minutes.
GO_TEST := go test -p 2 -shuffle=on -timeout 60m

.PHONY: help
help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-10s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

.PHONY: setup
setup: ## install what is missing (Debian, Ubuntu)
	@deploy/setup.sh

.PHONY: page
page: $(PAGE) ## build the page that the binary carries

$(MODULES): frontend/package.json frontend/package-lock.json
	cd frontend && npm ci --no-audit --no-fund --loglevel=error
	@touch $@

$(PAGE): $(MODULES) $(PAGE_SOURCES)
	cd frontend && npm run --silent build
	@touch $@

.PHONY: build
build: page ## build bin/netreel
	go build -trimpath -o bin/netreel ./cmd/netreel

.PHONY: demo
demo: ## serve an invented squad whose footage has gone the whole way; ONCE=1: print a summary and end
	@deploy/setup.sh --without-tests
	@$(MAKE) build
	bin/netreel demo --data $(DATA) $(if $(ONCE),--once)

.PHONY: test
test: setup page ## run every test, in a real browser too
	cd frontend && npm test --silent
	CI=true $(GO_TEST) ./...

.PHONY: check
check: lint page check-page check-generated ## all that must hold before a change is taken: what CI runs
	CI=true $(GO_TEST) ./...

.PHONY: lint
lint: $(GOLANGCI) page ## formatting, vet, linters, file lengths
	go vet ./...
	$(GOLANGCI) run
	@$(MAKE) check-lengths

$(GOLANGCI):
	@echo "building golangci-lint $(GOLANGCI_VERSION), once: a minute or two"
	@mkdir -p $(@D)
	GOFLAGS= GOBIN=$(CURDIR)/$(@D)/new go install github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v$(GOLANGCI_VERSION)
	@mv $(@D)/new/golangci-lint $@ && rmdir $(@D)/new

# Go 400 lines, the page 300, tests 600; what is generated may be long.
.PHONY: check-lengths
check-lengths:
	@git ls-files --cached --others --exclude-standard '*.go' '*.ts' '*.svelte' | grep -vxF '$(GENERATED)' | while read -r file; do \
		case $$file in \
			*_test.go|*.test.ts) most=600 ;; \
			*.go) most=400 ;; \
			*) most=300 ;; \
		esac; \
		if [ -f "$$file" ] && [ "$$(wc -l < "$$file")" -gt "$$most" ]; then \
			echo "$$file has more than $$most lines: split it by what its parts are for"; exit 1; \
		fi; \
	done

.PHONY: check-page
check-page: $(MODULES)
	cd frontend && npm run --silent check
	cd frontend && npm test --silent

.PHONY: generate
generate: $(MODULES) ## write the generated files anew
	go generate ./...
	cd frontend && npm run --silent generate

# By what they hold rather than by git's state, so that a change which has not
# been committed yet can be checked.
.PHONY: check-generated
check-generated:
	@before=$$(cat $(GENERATED) | sha256sum); \
	$(MAKE) generate > /dev/null; \
	if [ "$$before" != "$$(cat $(GENERATED) | sha256sum)" ]; then \
		echo "generated files were out of date and have been written anew: commit $(GENERATED)"; exit 1; \
	fi

.PHONY: bench
bench: ## benchmarks, as ratios against a limit measured in the same run
	go test -run '^$$' -bench . -benchtime 1x -p 1 -timeout 2h ./...

# Which scenes `make eval` measures on: tuning, or judging.
SET := tuning

.PHONY: eval
eval: build ## measure the split on rendered scenes: SET=tuning, or SET=judging for its figures alone
	bin/netreel eval --set $(SET)

.PHONY: clean
clean: ## remove what was built; data/ stays
	rm -rf bin frontend/node_modules frontend/dist/assets
	find frontend/dist -mindepth 1 ! -name .gitkeep -delete
