// SPDX-License-Identifier: GPL-3.0-or-later
// What a fact does to the limb document: fields that name a place in it are written there.
#include "base/alloc.h"
#include "study/limb_case_inside.h"

#include <stdio.h>
#include <string.h>

enum { MOST_PATCHES = 40, MOST_KEY = 64, DAY = 10 };

// One value for one place. The path is what remains of it below the object at hand; "[]" behind it appends.
typedef struct Patch {
    const char *path;
    sf_DocNode value;
    sf_DocNode adding;    ///< keys that each appended item gets besides
    const char *text;     ///< a text in place of the value
    const char *item_key; ///< the value is one item's key, beside a date
    const char *date;     ///< of that item
    sf_DocNode landmark;  ///< of that item, where it has one
} Patch;

typedef struct Patches {
    Patch list[MOST_PATCHES];
    size_t count;
    bool holes_stay; ///< fitted holes become old ones
} Patches;

static size_t head_of(const char *path)
{
    return strcspn(path, ".[");
}

static bool begins(const Patch *patch, const char *key)
{
    size_t length = head_of(patch->path);
    return strlen(key) == length && strncmp(patch->path, key, length) == 0;
}

static sf_Json *item_json(const Patch *patch)
{
    sf_Json *json = sf_json_object();
    sf_json_set_text(json, "date", patch->date);
    sf_json_set(json, patch->item_key, sf_json_from_node(patch->value));
    if (sf_doc_there(patch->landmark))
        sf_json_set(json, "landmark", sf_json_from_node(patch->landmark));
    return json;
}

static sf_Json *with_added(sf_DocNode item, sf_DocNode adding)
{
    sf_Json *json = sf_json_object();
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(item, i)); i++)
        sf_json_set(json, key, sf_json_from_node(sf_doc_member(item, key)));
    for (size_t i = 0; (key = sf_doc_key(adding, i)); i++)
        sf_json_set(json, key, sf_json_from_node(sf_doc_member(adding, key)));
    return json;
}

static sf_Json *old_hole(sf_DocNode hole)
{
    const char *state = NULL, *key;
    sf_doc_text(sf_doc_member(hole, "state"), MOST_KEY, &state);
    if (!state || strcmp(state, "fitted") != 0)
        return sf_json_from_node(hole);
    sf_Json *json = sf_json_object();
    for (size_t i = 0; (key = sf_doc_key(hole, i)); i++)
        if (strcmp(key, "state") != 0)
            sf_json_set(json, key, sf_json_from_node(sf_doc_member(hole, key)));
    sf_json_set_text(json, "state", "old-hole");
    return json;
}

// A list with what is appended; `holes`: fitted ones become old first.
static sf_Json *list_json(sf_DocNode list, const Patches *patches, const char *key, bool holes)
{
    sf_Json *json = sf_json_array();
    for (size_t i = 0; i < sf_doc_length(list); i++)
        sf_json_add(json, holes ? old_hole(sf_doc_item(list, i)) : sf_json_from_node(sf_doc_item(list, i)));
    for (size_t p = 0; p < patches->count; p++) {
        const Patch *patch = &patches->list[p];
        if (!begins(patch, key))
            continue;
        if (patch->item_key)
            sf_json_add(json, item_json(patch));
        for (size_t i = 0; !patch->item_key && i < sf_doc_length(patch->value); i++)
            sf_json_add(json, with_added(sf_doc_item(patch->value, i), patch->adding));
    }
    return json;
}

static sf_Json *rewritten(sf_DocNode object, const Patches *patches);

static sf_Json *member_json(sf_DocNode object, const char *key, const Patches *patches)
{
    sf_DocNode member = sf_doc_member(object, key);
    Patches below = { .holes_stay = patches->holes_stay && strcmp(key, "pylon") == 0 };
    const Patch *leaf = NULL;
    bool appends = false;
    for (size_t i = 0; i < patches->count; i++) {
        const Patch *patch = &patches->list[i];
        if (!begins(patch, key))
            continue;
        const char *rest = patch->path + head_of(patch->path);
        appends = appends || *rest == '[';
        if (*rest == '.') {
            below.list[below.count] = *patch;
            below.list[below.count++].path = rest + 1;
        } else {
            leaf = patch;
        }
    }
    bool holes = patches->holes_stay && strcmp(key, "holes") == 0;
    if (appends || holes)
        return list_json(member, patches, key, holes);
    if (leaf)
        return sf_json_from_node(leaf->value);
    return below.count || below.holes_stay ? rewritten(member, &below) : sf_json_from_node(member);
}

static void set_member(sf_Json *json, sf_DocNode object, const char *key, const Patches *patches)
{
    for (size_t i = 0; i < patches->count; i++)
        if (begins(&patches->list[i], key) && patches->list[i].text &&
            !patches->list[i].path[head_of(patches->list[i].path)]) {
            sf_json_set_text(json, key, patches->list[i].text);
            return;
        }
    sf_json_set(json, key, member_json(object, key, patches));
}

// The object with every patch in its place; keys that were not there come last, in the order of the patches.
static sf_Json *rewritten(sf_DocNode object, const Patches *patches)
{
    sf_Json *json = sf_json_object();
    const char *key;
    for (size_t i = 0; (key = sf_doc_key(object, i)); i++)
        set_member(json, object, key, patches);
    for (size_t i = 0; i < patches->count; i++) {
        char name[MOST_KEY] = "";
        size_t length = head_of(patches->list[i].path);
        memcpy(name, patches->list[i].path, length < sizeof name ? length : sizeof name - 1);
        bool earlier = sf_doc_there(sf_doc_member(object, name));
        for (size_t k = 0; k < i; k++)
            earlier = earlier || begins(&patches->list[k], name);
        if (!earlier)
            set_member(json, object, name, patches);
    }
    return json;
}

static void add_patch(Patches *patches, const sf_StageField *field, sf_DocNode body)
{
    sf_DocNode value = sf_doc_member(body, field->name);
    if (!field->into || !sf_doc_there(value) || patches->count == MOST_PATCHES)
        return;
    Patch *patch = &patches->list[patches->count++];
    *patch = (Patch){ .path = field->into, .value = value, .adding = field->adding };
    const char *item = strstr(field->into, "[].");
    if (item) {
        patch->item_key = item + 3;
        if (!sf_doc_text(sf_doc_member(body, "date"), DAY, &patch->date))
            patch->date = NULL;
        if (strcmp(patch->item_key, "knee_height_mm") == 0)
            patch->landmark = sf_doc_member(body, "landmark");
    }
}

// Every kind that ends another takes the clamp off: its holes stay in the wall.
static bool takes_fixing_out(const sf_StageKind *kind)
{
    for (size_t k = 0; k < SF_STAGE_MOST_KINDS; k++)
        if (kind->ends[k])
            return true;
    return false;
}

sf_Status sf_limb_case_extend(const sf_StageKind *kind, sf_DocNode document, sf_DocNode body, const char *happened_at,
                              char **text, sf_Error *err)
{
    char day[DAY + 1] = "";
    Patches patches = { 0 };
    *text = NULL;
    for (size_t i = 0; i < kind->field_count; i++)
        add_patch(&patches, &kind->fields[i], body);
    patches.holes_stay =
        takes_fixing_out(kind) && sf_doc_length(sf_doc_member(sf_doc_member(document, "pylon"), "holes"));
    if (strcmp(kind->kind, "forming") == 0 && patches.count < MOST_PATCHES) {
        memcpy(day, happened_at, DAY);
        patches.list[patches.count++] = (Patch){ .path = "pylon.forming.date", .text = day };
    }
    if (patches.count == 0 && !patches.holes_stay)
        return SF_OK;
    sf_Json *json = rewritten(document, &patches);
    sf_Status status = sf_json_text(json, 15, text, err);
    sf_json_destroy(&json);
    return status;
}

sf_Status sf_limb_case_with(sf_DocNode document, const char *path, sf_DocNode value, char **text, sf_Error *err)
{
    Patches patches = { .count = 1, .list = { { .path = path, .value = value } } };
    sf_Json *json = rewritten(document, &patches);
    sf_Status status = sf_json_text(json, 15, text, err);
    sf_json_destroy(&json);
    return status;
}

// ---- taking back ------------------------------------------------------------------------------------------------

static bool same_value(sf_DocNode one, sf_DocNode other)
{
    char *a = NULL, *b = NULL;
    sf_Json *x = sf_json_from_node(one), *y = sf_json_from_node(other);
    bool same = sf_json_text(x, 15, &a, NULL) == SF_OK && sf_json_text(y, 15, &b, NULL) == SF_OK && strcmp(a, b) == 0;
    sf_json_destroy(&x);
    sf_json_destroy(&y);
    sf_free(a);
    sf_free(b);
    return same;
}

// Whether an item of the document's list is one that the fact appended: all that it said is there; what the table added
// (such as a hole's state) may have changed since.
static bool came_from(sf_DocNode item, const sf_StageField *field, sf_DocNode said, sf_DocNode body)
{
    const char *key, *own = strstr(field->into, "[].");
    if (own)
        return same_value(sf_doc_member(item, own + 3), said) &&
               same_value(sf_doc_member(item, "date"), sf_doc_member(body, "date"));
    for (size_t i = 0; (key = sf_doc_key(said, i)); i++)
        if (!sf_doc_there(sf_doc_member(field->adding, key)) &&
            !same_value(sf_doc_member(item, key), sf_doc_member(said, key)))
            return false;
    return true;
}

// The list without the newest item for each that the field's value appended; NULL: nothing of it is there.
static sf_Json *list_without(sf_DocNode list, const sf_StageField *field, sf_DocNode body)
{
    enum { MOST_ITEMS = 100 };
    bool gone[MOST_ITEMS] = { false }, any = false;
    sf_DocNode value = sf_doc_member(body, field->name);
    size_t count = sf_doc_length(list), saids = strstr(field->into, "[].") ? 1 : sf_doc_length(value);
    if (count > MOST_ITEMS)
        return NULL;
    for (size_t k = 0; k < saids; k++)
        for (size_t i = count; i-- > 0;)
            if (!gone[i] && came_from(sf_doc_item(list, i), field,
                                      strstr(field->into, "[].") ? value : sf_doc_item(value, k), body)) {
                gone[i] = any = true;
                break;
            }
    sf_Json *json = any ? sf_json_array() : NULL;
    for (size_t i = 0; any && i < count; i++)
        if (!gone[i])
            sf_json_add(json, sf_json_from_node(sf_doc_item(list, i)));
    return json;
}

// The document without what one field appended, in place of *doc.
static sf_Status without(sf_Doc **doc, const char *path, sf_Json **list, sf_Error *err)
{
    char *list_text = NULL, *text = NULL;
    sf_Doc *value = NULL, *next = NULL;
    sf_Status status;
    SF_TRY_DONE(sf_json_text(*list, 15, &list_text, err));
    SF_TRY_DONE(sf_doc_parse(&value, "list", list_text, strlen(list_text), err));
    SF_TRY_DONE(sf_limb_case_with(sf_doc_root(*doc), path, sf_doc_root(value), &text, err));
    SF_TRY_DONE(sf_doc_parse(&next, "document", text, strlen(text), err));
    sf_doc_destroy(doc);
    *doc = next;
done:
    sf_doc_destroy(&value);
    sf_json_destroy(list);
    sf_free(list_text);
    sf_free(text);
    return status;
}

sf_Status sf_limb_case_take_back(sf_LimbCase *c, const sf_StageKind *kind, sf_DocNode body, sf_CaseRecorded *recorded,
                                 sf_Error *err)
{
    char path[MOST_KEY], root[MOST_KEY] = "";
    sf_Doc *doc = NULL;
    sf_Status status = SF_OK;
    if (!c->text)
        return SF_OK;
    SF_TRY(sf_doc_parse(&doc, "document", c->text, strlen(c->text), err));
    for (size_t i = 0; i < kind->field_count; i++) {
        const sf_StageField *field = &kind->fields[i];
        const char *bracket = field->into ? strchr(field->into, '[') : NULL;
        if (!bracket || !sf_doc_there(sf_doc_member(body, field->name)))
            continue;
        snprintf(path, sizeof path, "%.*s", (int)(bracket - field->into), field->into);
        sf_Json *list = list_without(sf_document_at(sf_doc_root(doc), path), field, body);
        if (!list)
            continue;
        SF_TRY_DONE(without(&doc, path, &list, err));
        snprintf(root, sizeof root, "%.*s", (int)strcspn(path, "."), path); // all lists of a kind lie in one member
    }
    if (*root) {
        sf_Json *member = sf_json_from_node(sf_doc_member(sf_doc_root(doc), root));
        status = sf_limb_case_put(c, root, &member, recorded, err);
    }
done:
    sf_doc_destroy(&doc);
    return status;
}
