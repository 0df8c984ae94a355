/* bad_files.c: each mistake that a person makes in a file, and the message that it gives.
 *
 * tests/cli/bad/ holds the files: appliance-*.yaml are read and built, call-*.yaml are read on the appliance
 * that they name or on range-relay-control, kinds-*.yaml are read beside the shipped words, terms-*.yaml are
 * a shop's terms. The .expect beside each is the whole message, to be judged by a reader. With the argument
 * `write` the program writes the messages as they are now instead, so that a change of wording is read in the
 * difference. */
#include "format/appliance_yaml/appliance_yaml.h"
#include "format/call_yaml/call_yaml.h"
#include "format/shop_yaml/shop_yaml.h"
#include "support/file.h"
#include "support/near.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const folder = "tests/cli/bad";

/* What stands around a bad file. */
typedef struct {
    Text range;
    CatalogueFiles files;
    Arena arena;
    Catalogue catalogue;
    Appliance appliance;
} Shipped;

static bool build(Shipped *shipped, const char *file, Text bytes, Appliance *appliance, Error *error)
{
    Description *description = arena_take(&shipped->arena, sizeof *description);
    return appliance_yaml_read(file, bytes, &shipped->arena, description, error) &&
           appliance_build(description, &shipped->catalogue, NULL, 0, &shipped->arena, appliance, error);
}

static void load(Shipped *shipped)
{
    Error error = {0};
    *shipped = (Shipped){.files = {.kinds_file = "kinds.yaml",
                                   .words_file = "words.yaml",
                                   .materials_file = "parts/materials.yaml",
                                   .kinds = file_read("data/parts/kinds.yaml"),
                                   .words = file_read("data/parts/words.yaml"),
                                   .materials = file_read("data/parts/materials.yaml")},
                         .range = file_read("data/appliances/range-relay-control.yaml"),
                         .arena = arena_new(64 << 20)};
    assert_true(catalogue_yaml_read(&shipped->files, &shipped->arena, &shipped->catalogue, &error));
    assert_true(build(shipped, "range-relay-control.yaml", shipped->range, &shipped->appliance, &error));
}

static void unload(Shipped *shipped)
{
    free((void *)shipped->files.kinds.bytes);
    free((void *)shipped->files.words.bytes);
    free((void *)shipped->files.materials.bytes);
    free((void *)shipped->range.bytes);
    arena_free(&shipped->arena);
}

static bool starts_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

static bool read_bad(Shipped *shipped, const char *name, const char *file, Text bytes, Error *error)
{
    if (starts_with(name, "appliance-")) {
        Appliance appliance;
        return build(shipped, file, bytes, &appliance, error);
    }
    CatalogueFiles files = shipped->files;
    if (starts_with(name, "kinds-")) {
        Catalogue catalogue;
        files.kinds_file = file;
        files.kinds = bytes;
        return catalogue_yaml_read(&files, &shipped->arena, &catalogue, error);
    }
    if (starts_with(name, "materials-")) {
        Catalogue catalogue;
        files.materials_file = file;
        files.materials = bytes;
        return catalogue_yaml_read(&files, &shipped->arena, &catalogue, error);
    }
    if (starts_with(name, "terms-")) {
        PlanTerms terms;
        return shop_yaml_read_terms(file, bytes, &shipped->arena, &terms, NULL, error);
    }
    Call call;
    return call_yaml_read_head(file, bytes, &shipped->arena, &call, error) &&
           call_yaml_read(file, bytes, &shipped->appliance, &shipped->arena, &call, error);
}

/* The message of one file into `line`; fails when the file is read without complaint. */
static void give_message(Shipped *shipped, const char *name, char *line, size_t size)
{
    char path[400];
    Error error = {0};
    snprintf(path, sizeof path, "%s/%s", folder, name);
    const Text bytes = file_read(path);
    if (read_bad(shipped, name, path, bytes, &error)) fail_msg("%s was read without complaint", path);
    free((void *)bytes.bytes);
    if (error_exit_status(error.code) != 3) fail_msg("%s ends with another status than 3", path);
    error_line(&error, line, size);
}

/* 'tests/cli/bad/call-empty.expect' of 'call-empty.yaml', below the project's folder. */
static void expect_path(const char *name, char *path, size_t size)
{
    snprintf(path, size, "%s/%.*s.expect", folder, (int)(strlen(name) - strlen(".yaml")), name);
}

static void compare(const char *name, const char *line)
{
    char path[400], expected[1600];
    expect_path(name, path, sizeof path);
    const Text bytes = file_read(path);
    snprintf(expected, sizeof expected, "%.*s", (int)bytes.length, bytes.bytes);
    free((void *)bytes.bytes);
    const size_t length = strlen(line);
    if (strncmp(expected, line, length) != 0 || strcmp(expected + length, "\n") != 0)
        fail_msg("%s\n  expects %s  but is  %s", name, expected, line);
}

static void write_expectation(const char *name, const char *line)
{
    char path[400], full[1000];
    expect_path(name, path, sizeof path);
    snprintf(full, sizeof full, "%s/%s", PROJECT_FOLDER, path);
    FILE *file = fopen(full, "w");
    assert_non_null(file);
    fprintf(file, "%s\n", line);
    fclose(file);
}

static bool is_yaml(const char *name)
{
    const size_t length = strlen(name);
    return length > 5 && strcmp(name + length - 5, ".yaml") == 0;
}

static int each_file(void (*act)(const char *name, const char *line))
{
    char path[600], line[1600];
    Shipped shipped;
    int count = 0;
    load(&shipped);
    snprintf(path, sizeof path, "%s/%s", PROJECT_FOLDER, folder);
    DIR *directory = opendir(path);
    assert_non_null(directory);
    for (const struct dirent *entry; (entry = readdir(directory));) {
        if (!is_yaml(entry->d_name)) continue;
        give_message(&shipped, entry->d_name, line, sizeof line);
        act(entry->d_name, line);
        count++;
    }
    closedir(directory);
    unload(&shipped);
    return count;
}

static void each_bad_file_gives_its_message(void **state)
{
    (void)state;
    assert_true(each_file(compare) >= 100);
}

static void messages_are_written(void **state)
{
    (void)state;
    each_file(write_expectation);
}

int main(int count, char **arguments)
{
    const struct CMUnitTest checking[] = {cmocka_unit_test(each_bad_file_gives_its_message)};
    const struct CMUnitTest writing[] = {cmocka_unit_test(messages_are_written)};
    if (count == 2 && strcmp(arguments[1], "write") == 0) return cmocka_run_group_tests(writing, NULL, NULL);
    return cmocka_run_group_tests(checking, NULL, NULL);
}
