// SPDX-License-Identifier: GPL-3.0-or-later
// Documents by table: a shape lists the fields of an object once, and reading, checking, writing and looking up by
// path all follow that list.
#pragma once

#include "base/arena.h"
#include "base/doc.h"

/// A yes-or-no field that may be left out.
typedef enum sf_Answer { SF_ANSWER_NONE = 0, SF_ANSWER_NO, SF_ANSWER_YES } sf_Answer;

typedef enum sf_FieldKind {
    SF_FIELD_NUMBER, ///< double, NaN when left out; kept in SI: file value x factor
    SF_FIELD_WHOLE,  ///< int, -1 when left out
    SF_FIELD_FLAG,   ///< sf_Answer
    SF_FIELD_TEXT,   ///< const char *, NULL when left out; `high` is the most characters, `low` the least
    SF_FIELD_WORD,   ///< an enum whose 0 means left out and whose n means words[n - 1]
    SF_FIELD_DATE,   ///< const char *, "2026-01-31", NULL when left out
    SF_FIELD_PAIR,   ///< double[2], NaN when left out; kept in SI
    SF_FIELD_OBJECT, ///< a struct that begins with `bool there`
    SF_FIELD_LIST,   ///< a pointer to structs that begin with `bool there`, and a size_t count
    SF_FIELD_CONST   ///< a fixed word, not stored
} sf_FieldKind;

typedef struct sf_Shape sf_Shape;

typedef struct sf_Field {
    const char *key;
    sf_FieldKind kind;
    bool required;
    size_t offset;       ///< in the struct
    size_t count_offset; ///< lists: where the count lies
    double low, high;    ///< in the file's unit
    double factor;       ///< SI value = file value x factor
    const char *const *words;
    size_t word_count;
    const sf_Shape *shape; ///< objects and list items
    size_t most;           ///< lists: most entries
} sf_Field;

struct sf_Shape {
    size_t size; ///< of the struct
    const sf_Field *fields;
    size_t count;
    /// Notes what the table cannot say about one object (may be NULL).
    void (*check)(sf_DocNode node, const void *object);
};

/// Sets every field of a struct to "left out".
void sf_shape_clear(const sf_Shape *shape, void *object);

/// Reads `node` into the struct `object`; texts and lists go into the arena. Every problem (wrong kind, out of range,
/// unknown field, missing required field) is noted in the document. SF_E_MEMORY when the arena is exhausted.
sf_Status sf_shape_read(const sf_Shape *shape, sf_DocNode node, void *object, sf_Arena *arena,
                        sf_Error *err) SF_MUST_USE;

/// Reads a whole document by its shape: parsed, read, judged. Texts and lists lie in `*arena`, made here with at most
/// `arena_bytes`; the caller destroys it. On an error `*arena` is NULL and `object` has nothing in it.
sf_Status sf_shape_parse(const sf_Shape *shape, const char *name, const char *text, size_t size, void *object,
                         sf_Arena **arena, size_t arena_bytes, sf_Error *err) SF_MUST_USE;

/// The object as JSON in the file's units; left-out fields are not written. Owned by the caller.
sf_Json *sf_shape_write(const sf_Shape *shape, const void *object);

/// Whether the field at a path such as "adapter.foot_bolt.torque_nm" was given; a list counts when it is not empty.
/// A path that the shape does not know is a programmer's error.
bool sf_shape_has(const sf_Shape *shape, const void *object, const char *path);
