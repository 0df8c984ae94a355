/* error.c: the one list of errors, as exit status and as status of a server.
 *
 * Outside reference: RFC 9110, section 15: 4xx where the asker can mend it, 5xx where only the server can. */
#include "base/error.h"

#include "support/near.h"

static void each_code_has_both(void **state)
{
    (void)state;
    assert_int_equal(error_http_status(ERROR_NONE), 200);
    for (int code = ERROR_NONE + 1; code < ERROR_COUNT; code++) {
        const int exit_status = error_exit_status((ErrorCode)code), http = error_http_status((ErrorCode)code);
        const bool is_asker = exit_status == 2 || exit_status == 3; /* wrong usage, bad input */
        assert_true(is_asker ? http >= 400 && http < 500 : http >= 500 && http < 600);
        assert_true(error_says((ErrorCode)code)[0] != '\0');
    }
}

/* A code from nowhere is a defect of ours. */
static void an_unknown_code_is_a_defect(void **state)
{
    (void)state;
    assert_int_equal(error_exit_status((ErrorCode)999), 70);
    assert_int_equal(error_http_status((ErrorCode)999), 500);
    assert_int_equal(error_http_status((ErrorCode)-1), 500);
}

static void the_innermost_place_stays(void **state)
{
    Error error = {.code = ERROR_NONE};
    (void)state;
    assert_false(error_set(&error, ERROR_SYNTAX, "a tab", "%d spaces", 2));
    assert_false(error_at(&error, "call.yaml", 7, 3));
    assert_false(error_at(&error, "outer.yaml", 1, 1));
    assert_string_equal(error.file, "call.yaml");
    assert_int_equal(error.line, 7);
    assert_string_equal(error.expected, "2 spaces");
    assert_false(error_set(NULL, ERROR_SYNTAX, "x", "y")); /* for who only wants to know whether */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_code_has_both),
        cmocka_unit_test(an_unknown_code_is_a_defect),
        cmocka_unit_test(the_innermost_place_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
