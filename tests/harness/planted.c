// SPDX-License-Identifier: GPL-3.0-or-later
// Cases that must fail, run by test_harness.py: a harness that lets one of them through proves nothing.
#include "base/alloc.h"
#include "harness/tap.h"

#include <math.h>

TAP_CASE(good)
{
    TAP_NEAR(1.0 + 1e-13, 1.0, TAP_ROUNDING, TAP_CLOSED_FORM);
    TAP_TEXT("a", "a");
    TAP_HOLDS("abc", "b");
    TAP_TRUE(true);
    TAP_OK(SF_OK);
}

TAP_CASE(checks_nothing)
{
}

TAP_CASE(not_near)
{
    TAP_NEAR(1.0 + 1e-9, 1.0, TAP_ROUNDING, TAP_CLOSED_FORM);
}

TAP_CASE(not_a_number)
{
    TAP_NEAR((double)NAN, 1.0, TAP_TOLERANCE("anything", 1e300, 1e300), TAP_INVENTED);
}

TAP_CASE(infinite_on_both_sides)
{
    TAP_NEAR((double)INFINITY, (double)INFINITY, TAP_EXACT, TAP_INVENTED);
}

TAP_CASE(empty_source)
{
    TAP_NEAR(1.0, 1.0, TAP_EXACT, TAP_SOURCE(""));
}

TAP_CASE(other_text)
{
    TAP_TEXT("a", "b");
}

TAP_CASE(no_text)
{
    TAP_TEXT(NULL, "b");
}

TAP_CASE(lacks_the_part)
{
    TAP_HOLDS("abc", "x");
}

TAP_CASE(other_status)
{
    TAP_STATUS(SF_E_INPUT, SF_OK);
}

TAP_CASE(one_bad_among_good)
{
    TAP_TRUE(true);
    TAP_TRUE(false, "planted");
    TAP_TRUE(true);
}

static void *kept;

TAP_CASE(leaves_a_block)
{
    kept = sf_alloc(1, 8);
    TAP_TRUE(kept != NULL);
}

TAP_CASE(gives_it_back)
{
    sf_free(kept); // one block fewer than before: no case may free what another one owns
    TAP_TRUE(true);
}

static sf_Status careful(void *context)
{
    (void)context;
    void *a = sf_alloc(1, 8), *b = sf_alloc(1, 8);
    sf_Status status = a && b ? SF_OK : SF_E_MEMORY;
    sf_free(a);
    sf_free(b);
    return status;
}

static sf_Status careless(void *context)
{
    void *a = sf_alloc(1, 8), *b = sf_alloc(1, 8);
    if (!a || !b) {
        *(void **)context = a; // leaks when the second one fails
        return SF_E_MEMORY;
    }
    sf_free(a);
    sf_free(b);
    return SF_OK;
}

static sf_Status silent(void *context)
{
    (void)context;
    void *a = sf_alloc(1, 8);
    sf_free(a);
    return SF_OK;
}

TAP_CASE(good_with_failing_allocations)
{
    tap_every_allocation(careful, NULL, 10, "careful");
}

TAP_CASE(leaks_when_an_allocation_fails)
{
    void *left = NULL;
    tap_every_allocation(careless, &left, 10, "careless");
    sf_free(left);
}

TAP_CASE(hides_that_an_allocation_failed)
{
    tap_every_allocation(silent, NULL, 10, "silent");
}

TAP_CASE(needs_more_allocations_than_told)
{
    tap_every_allocation(careful, NULL, 1, "careful");
}

TAP_MAIN(TAP_RUN(good), TAP_RUN(checks_nothing), TAP_RUN(not_near), TAP_RUN(not_a_number),
         TAP_RUN(infinite_on_both_sides), TAP_RUN(empty_source), TAP_RUN(other_text), TAP_RUN(no_text),
         TAP_RUN(lacks_the_part), TAP_RUN(other_status), TAP_RUN(one_bad_among_good), TAP_RUN(leaves_a_block),
         TAP_RUN(gives_it_back), TAP_RUN(good_with_failing_allocations), TAP_RUN(leaks_when_an_allocation_fails),
         TAP_RUN(hides_that_an_allocation_failed), TAP_RUN(needs_more_allocations_than_told))
