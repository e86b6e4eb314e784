// SPDX-License-Identifier: GPL-3.0-or-later
#include "record/people.h"

#include "record/sealed.h"

#include <string.h>
#include <strings.h>

const char *const sf_person_role_words[SF_ROLE_COUNT] = { "prosthetist", "technician", "reader", "admin" };

enum { COLUMNS = 9, HASH_MOST = 200 };
static const char SELECT[] = "SELECT id, name, initials, role, license, password_hash, pin_hash, units, active"
                             " FROM person";

static sf_Status check(sf_Transaction *t, const sf_Person *person, sf_Error *err)
{
    SF_TRY(sf_record_check_text(person->name, "name", 1, SF_PERSON_NAME_MOST, err));
    SF_TRY(sf_record_check_text(person->initials, "initials", 1, SF_PERSON_INITIALS_MOST, err));
    SF_TRY(sf_record_check_text(person->license, "license", 0, SF_PERSON_LICENSE_MOST, err));
    SF_TRY(sf_record_check_text(person->password_hash, "password", 0, HASH_MOST, err));
    SF_TRY(sf_record_check_text(person->pin_hash, "pin", 0, HASH_MOST, err));
    if (!person->name[strspn(person->name, " ")])
        return SF_FAIL(err, SF_E_INPUT, "name", "name is blank: say who it is");
    if (!person->initials[strspn(person->initials, " ")])
        return SF_FAIL(err, SF_E_INPUT, "initials", "initials are blank: they stand under what is signed");
    if ((unsigned)person->role >= SF_ROLE_COUNT)
        return SF_FAIL(err, SF_E_INPUT, "role", "there is no such role");
    sf_Person other;
    sf_Status status = sf_person_by_name(t, person->name, &other, err);
    if (status == SF_OK && other.id != person->id)
        return SF_FAIL(err, SF_E_INPUT, "name", "somebody is called %s already: add a second name", other.name);
    return status == SF_E_MISSING ? SF_OK : status;
}

static void values_of(const sf_Person *person, sf_Value values[COLUMNS])
{
    const sf_Value row[COLUMNS] = {
        sf_whole(person->id),       sf_words(person->name),
        sf_words(person->initials), sf_words(sf_person_role_words[person->role]),
        sf_words(person->license),  sf_words(person->password_hash),
        sf_words(person->pin_hash), sf_words(person->inch ? "inch" : "metric"),
        sf_whole(person->active),
    };
    memcpy(values, row, sizeof row);
}

static sf_Person person_of(const sf_Rows *rows, size_t i)
{
    const sf_Value *cell = &rows->cells[i * rows->columns];
    sf_Person person = { .id = cell[0].whole,
                         .name = cell[1].text,
                         .initials = cell[2].text,
                         .role = SF_ROLE_READER, // the least, should the word ever be another
                         .license = cell[4].text,
                         .password_hash = cell[5].text,
                         .pin_hash = cell[6].text,
                         .inch = strcmp(cell[7].text, "inch") == 0,
                         .active = cell[8].whole == 1 };
    for (int role = 0; role < SF_ROLE_COUNT; role++) {
        if (strcmp(cell[3].text, sf_person_role_words[role]) == 0)
            person.role = (sf_PersonRole)role;
    }
    return person;
}

sf_Status sf_person_add(sf_Transaction *t, const sf_Person *given, int64_t *id, sf_Error *err)
{
    sf_Person person = *given;
    person.id = 0;
    SF_TRY(check(t, &person, err));
    SF_TRY(sf_next_id(t, "person", &person.id, err));
    sf_Value values[COLUMNS];
    values_of(&person, values);
    *id = person.id;
    return sf_sealed_add(t, SF_SEALED_PERSON, "add", 0, values, sizeof values / sizeof *values, err);
}

sf_Status sf_person_change(sf_Transaction *t, const sf_Person *person, sf_Error *err)
{
    SF_TRY(check(t, person, err));
    sf_Value values[COLUMNS];
    values_of(person, values);
    return sf_sealed_change(t, SF_SEALED_PERSON, "change", 0, values, sizeof values / sizeof *values, err);
}

sf_Status sf_person_get(sf_Transaction *t, int64_t id, sf_Person *person, sf_Error *err)
{
    sf_Rows rows;
    char sql[sizeof SELECT + 32];
    memcpy(sql, SELECT, sizeof SELECT);
    strcat(sql, " WHERE id = $1");
    SF_TRY(sf_transaction_query(t, sql, SF_BIND(sf_whole(id)), &rows, err));
    if (rows.count == 0)
        return SF_FAIL(err, SF_E_MISSING, "person", "there is no person %d", (int)id);
    *person = person_of(&rows, 0);
    return SF_OK;
}

sf_Status sf_person_list(sf_Transaction *t, sf_Person **people, size_t *count, sf_Error *err)
{
    sf_Rows rows;
    char sql[sizeof SELECT + 32];
    memcpy(sql, SELECT, sizeof SELECT);
    strcat(sql, " ORDER BY id");
    SF_TRY(sf_transaction_query(t, sql, SF_BIND_NONE, &rows, err));
    sf_Person *list = sf_arena_alloc(t->arena, rows.count, sizeof *list);
    if (!list)
        return SF_FAIL(err, SF_E_MEMORY, NULL, "out of memory");
    for (size_t i = 0; i < rows.count; i++)
        list[i] = person_of(&rows, i);
    *people = list;
    *count = rows.count;
    return SF_OK;
}

sf_Status sf_person_by_name(sf_Transaction *t, const char *name, sf_Person *person, sf_Error *err)
{
    sf_Person *people = NULL;
    size_t count = 0;
    SF_TRY(sf_person_list(t, &people, &count, err)); // a shop has few
    for (size_t i = 0; i < count; i++) {
        if (strcasecmp(people[i].name, name) == 0) {
            *person = people[i];
            return SF_OK;
        }
    }
    return SF_FAIL(err, SF_E_MISSING, "name", "there is no person of this name");
}

sf_Status sf_person_failures(sf_Transaction *t, int64_t id, int64_t *failures, const char **locked_until, sf_Error *err)
{
    sf_Rows rows;
    SF_TRY(sf_transaction_query(t, "SELECT failures, locked_until FROM sign_in WHERE person = $1",
                                SF_BIND(sf_whole(id)), &rows, err));
    *failures = rows.count ? sf_cell_whole(&rows, 0, 0) : 0;
    *locked_until = rows.count ? sf_cell_text(&rows, 0, 1) : NULL;
    return SF_OK;
}

sf_Status sf_person_set_failures(sf_Transaction *t, int64_t id, int64_t failures, const char *locked_until,
                                 sf_Error *err)
{
    if (locked_until && !sf_time_is_good(locked_until))
        return SF_FAIL(err, SF_E_INPUT, "locked_until", "that is no time");
    const sf_Value row[] = { sf_whole(id), sf_whole(failures), sf_words(locked_until) };
    return sf_working_keep(t, SF_WORKING_SIGN_IN, row, sizeof row / sizeof *row, err);
}
