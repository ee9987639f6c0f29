# Larkhand's make targets. "make" prints them.
#
# A plain `go build`, `go vet` and `go test ./...` need Go alone; what needs more is here.

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.NOTPARALLEL:

PACKAGES := testdata/packages/packages.sh
STATICCHECK := go run honnef.co/go/tools/cmd/staticcheck@v0.8.2

# Debian packages of what the tests compare with or run on: general-purpose sound and picture programs, a virtual sound card, a browser,
# a reader of XML schemas.
TEST_PACKAGES := sox libsox-fmt-mp3 flac vorbis-tools lame praat librsvg2-bin jackd2 libjack-jackd2-dev procps chromium libxml2-utils

# The same for the tiers of virtual devices of "make test-devices".
TIER_PACKAGES := pulseaudio pulseaudio-utils libasound2-plugins qemu-system-x86 busybox-static cpio libasound2-data alsa-utils

# The packages in which the tag "devices" changes anything.
DEVICE_PACKAGES := ./internal/sound/... ./cmd/...

# PortAudio's binding hands a number to C in the place of a pointer, which the pointer check of -race refuses.
NO_POINTER_CHECK := -gcflags=github.com/gordonklaus/portaudio=-d=checkptr=0

# Programs for developers lie in folders named testdata, which ./... leaves out.
PROGRAMS = $(shell find . -path '*/testdata/*' -name '*.go' -exec dirname {} \; | sort -u)

# How often each fuzz target runs in "make test": a number of runs, since a time that ends while the fuzzer works makes it fail with
# "context deadline exceeded".
FUZZTIME ?= 5000x

.PHONY: help
help: ## print this list
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/\1|\2/p' $(firstword $(MAKEFILE_LIST)) | while IFS='|' read -r target text; do printf 'make %-16s %s\n' "$$target" "$$text"; done

.PHONY: build
build: ## build ./larkhand without devices; needs Go alone
	@go build -o larkhand ./cmd/larkhand

.PHONY: install
install: ## install what the live program needs (says what), and larkhand with devices
	@$(PACKAGES) live
	@CGO_ENABLED=1 go install -tags devices ./cmd/larkhand
	@folder=$$(go env GOBIN); folder=$${folder:-$$(go env GOPATH | cut -d: -f1)/bin}; \
	echo "installed $$folder/larkhand"; \
	case ":$$PATH:" in *":$$folder:"*) ;; *) echo "$$folder is not on your PATH; to add it: export PATH=\"\$$PATH:$$folder\"" ;; esac

.PHONY: test
test: test-packages check-format check-vet check-staticcheck test-plain test-jack test-race test-fuzz ## all tests and checks; installs what they need

.PHONY: test-packages
test-packages:
	@$(PACKAGES) live
	@$(PACKAGES) tests $(TEST_PACKAGES)
	@testdata/packages/axe.sh
	@testdata/packages/musicxml.sh

.PHONY: check-format
check-format: ## gofmt
	@files=$$(gofmt -l .); [ -z "$$files" ] || { echo "gofmt would change:"; echo "$$files"; exit 1; }

.PHONY: check-vet
check-vet: ## go vet: plain, with devices, without cgo; and that it builds for other systems
	@go vet ./... $(PROGRAMS)
	@go vet -tags devices $(DEVICE_PACKAGES)
	@CGO_ENABLED=0 go vet ./... $(PROGRAMS)
	@CGO_ENABLED=0 go vet -tags devices $(DEVICE_PACKAGES)
	@CGO_ENABLED=0 GOOS=darwin GOARCH=arm64 go build -o /dev/null ./cmd/larkhand
	@CGO_ENABLED=0 GOOS=windows GOARCH=amd64 go build -o /dev/null ./cmd/larkhand

.PHONY: check-staticcheck
check-staticcheck: ## staticcheck, without and with devices
	@$(STATICCHECK) ./... $(PROGRAMS)
	@$(STATICCHECK) -tags devices $(DEVICE_PACKAGES)

# -count=1: Go would take the results of a time when the programs to compare with were not installed.
.PHONY: test-plain
test-plain: ## go test, with every program to compare with that is installed
	@go test -count=1 -timeout 20m ./... $(PROGRAMS)

.PHONY: test-jack
test-jack: ## the tests with devices; they plug in virtual ones of JACK
	@go test -count=1 -timeout 20m -tags devices $(DEVICE_PACKAGES)

# Not in "make test": they take minutes, and few machines have what they need. A tier that cannot run here says what it lacks.
.PHONY: test-devices
test-devices: ## the program on virtual devices of PulseAudio, and in an emulated computer; installs what they need
	@$(PACKAGES) live
	@$(PACKAGES) tests $(TIER_PACKAGES)
	@LARKHAND_TEST_TIER=pulse go test -count=1 -v -timeout 20m -tags devices -run '^TestPulse' ./internal/sound
	@LARKHAND_TEST_TIER=machine go test -count=1 -v -timeout 20m -tags devices -run '^TestMachineTier$$' ./internal/sound

# -short leaves out tests of long arithmetic in one goroutine: the race detector makes them ten times slower and can find nothing there.
.PHONY: test-race
test-race: ## the race detector, without and with devices
	@go test -race -short -timeout 20m ./... $(PROGRAMS)
	@go test -race -short -timeout 20m -tags devices $(NO_POINTER_CHECK) $(DEVICE_PACKAGES)

.PHONY: test-fuzz
test-fuzz: ## every fuzz target for a few thousand runs (FUZZTIME)
	@grep -r --include='*_test.go' '^func Fuzz' . | sed 's|/[^/]*\.go:func \(Fuzz[A-Za-z0-9_]*\).*| \1|' | sort | while read -r folder target; do \
		log=$$(go test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 1x "$$folder" 2>&1) || { echo "$$log"; exit 1; }; \
		echo "ok  	fuzz	$$folder $$target"; \
	done

.PHONY: accuracy
accuracy: ## measure on real singing and playing (LARKHAND_DATA), and print the table
	@go run ./testdata/accuracy

.PHONY: man
man: ## write the manual pages to build/man
	@go run ./cmd/larkhand/internal/man build/man

.PHONY: bench
bench: ## all benchmarks
	@go test -run '^$$' -bench . -benchmem ./...
