# SPDX-License-Identifier: GPL-3.0-or-later
# The front door; Meson and Ninja do the work behind it.
#   make              builds build/standfast
#   make check        everything that is tested (./check)
#   make check-long   the same with longer tests, then fuzzing: FUZZ_SECONDS a target (default 300)
#   make bench        speed and accuracy against a plain pipeline
#   make screenshots  pictures of every view of the page, in build/screenshots
#   make install      PREFIX (default /usr/local), DESTDIR
#   make format       clang-format on all C files
#   make clean        removes the build folders
PREFIX ?= /usr/local
FUZZ_SECONDS ?= 300
export PREFIX

all:
	@tools/build plain

check:
	@./check

check-long:
	@TAP_LONG=1 ./check
	@tools/fuzz $(FUZZ_SECONDS)

bench:
	@bench/run

screenshots: all
	@node tests/web/screenshots.mjs build/screenshots

install:
	@tools/build release
	@meson install -C build-release --no-rebuild --quiet $(if $(DESTDIR),--destdir "$(abspath $(DESTDIR))")

format:
	@find src tests tools bench -name '*.[ch]' -print0 | xargs -0 clang-format-14 -i

clean:
	rm -rf build build-sanitize build-fuzz build-release

.PHONY: all check check-long bench screenshots install format clean
