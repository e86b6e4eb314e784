// SPDX-License-Identifier: GPL-3.0-or-later
// Prints where courses of invented facts leave a limb, one JSON object after another, for the judge of the schema; with
// a file instead, says whether the reader takes it as a table of stages.
#include "base/alloc.h"
#include "base/file.h"
#include "study/limb_course.h"

#include <stdio.h>
#include <string.h>

static int judge_table(const char *path)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    sf_StageTable *table = NULL;
    sf_Error err;
    if (sf_file_read(path, 1 << 24, &bytes, &size, &err) != SF_OK)
        return 2;
    sf_Status status = sf_stage_table_parse(&table, path, (const char *)bytes, size, &err);
    if (status != SF_OK)
        printf("%s\n", err.text);
    sf_stage_table_destroy(&table);
    sf_free(bytes);
    return status == SF_OK ? 0 : 1;
}

static void print_state(Course *c)
{
    char *text = NULL;
    sf_Json *json = sf_limb_state_json(course_state(c, 200));
    if (sf_json_text(json, 12, &text, NULL) == SF_OK)
        printf("%s%c", text, '\0');
    sf_free(text);
    sf_json_destroy(&json);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        return judge_table(argv[1]);
    for (size_t i = 0; i < 13; i++) {
        Course c;
        course_begin(&c, COURSE_LIMB);
        course_through(&c, c.table->stages[i].name);
        print_state(&c);
        course_say(&c, TECHNICIAN, "permanent-fixing", "{'fixing':'pinch-band','torque_nm':5}");
        course_say(&c, LICENSED, "release", "{'against_advice':true,'reason':'the person asks for it'}");
        course_say(&c, TECHNICIAN, "crack", "{'where':'hole'}");
        print_state(&c);
        course_end(&c);
    }
    return 0;
}
