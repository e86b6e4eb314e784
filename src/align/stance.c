// SPDX-License-Identifier: GPL-3.0-or-later
#include "align/stance.h"

#include "base/doc.h"
#include "base/units.h"

#include <math.h>
#include <stdio.h>

// Generated from data/stance.json.
extern const unsigned char sf_stance_data[];
extern const size_t sf_stance_data_size;

// The value of a table of `count` points at `at`; held at its ends.
static double between(const double *x, const double *y, size_t count, double at)
{
    if (at <= x[0])
        return y[0];
    for (size_t i = 1; i < count; i++)
        if (at <= x[i])
            return y[i - 1] + (y[i] - y[i - 1]) * (at - x[i - 1]) / (x[i] - x[i - 1]);
    return y[count - 1];
}

static size_t read_list(sf_DocNode parent, const char *key, double factor, double list[SF_STANCE_MAX_POINTS])
{
    sf_DocNode node = sf_doc_member(parent, key);
    if (!sf_doc_need(node, "the stance model") || !sf_doc_expect_array(node, SF_STANCE_MAX_POINTS))
        return 0;
    size_t count = sf_doc_length(node);
    for (size_t i = 0; i < count; i++)
        if (sf_doc_number(sf_doc_item(node, i), -1000, 1000, &list[i]))
            list[i] *= factor;
    return count;
}

static void read_number(sf_DocNode parent, const char *key, double factor, double *value)
{
    sf_DocNode node = sf_doc_member(parent, key);
    if (sf_doc_need(node, "the stance model") && sf_doc_number(node, -1000, 1000, value))
        *value *= factor;
}

static void read_source(sf_DocNode parent, char text[SF_ERROR_TEXT])
{
    const char *source = "";
    sf_DocNode node = sf_doc_member(parent, "source");
    if (sf_doc_need(node, "the stance model") && sf_doc_text(node, SF_ERROR_TEXT - 1, &source))
        snprintf(text, SF_ERROR_TEXT, "%s", source);
}

static void read_curves(sf_Stance *stance, sf_DocNode root)
{
    sf_DocNode forces = sf_doc_member(root, "forces"), path = sf_doc_member(root, "pressure_path");
    sf_DocNode rollover = sf_doc_member(root, "rollover"), measured = sf_doc_member(root, "comparison");
    double at[SF_STANCE_MAX_POINTS] = { 0 }, ahead[SF_STANCE_MAX_POINTS] = { 0 };
    stance->count = read_list(forces, "stance_percent", 1, stance->percent);
    size_t vertical = read_list(forces, "vertical_share", 1, stance->vertical);
    size_t forward = read_list(forces, "forward_share", 1, stance->forward);
    size_t medial = read_list(forces, "medial_share", -1, stance->outward);
    size_t path_count = read_list(path, "stance_percent", 1, at);
    if (stance->count < 2 || vertical != stance->count || forward != stance->count || medial != stance->count)
        sf_doc_problem(forces, "must hold lists of one length");
    if (path_count < 2 || read_list(path, "ahead_of_ankle_mm", SF_MM, ahead) != path_count)
        sf_doc_problem(path, "must hold lists of one length");
    else
        for (size_t i = 0; i < stance->count; i++)
            stance->ahead_of_ankle[i] = between(at, ahead, path_count, stance->percent[i]);
    read_number(path, "reference_lever_mm", SF_MM, &stance->reference_lever);
    read_number(path, "lever_per_foot_length", 1, &stance->lever_per_foot_length);
    read_number(rollover, "radius_per_stature", 1, &stance->rollover_radius_per_stature);
    read_number(rollover, "lowest_point_ahead_of_ankle_mm", SF_MM, &stance->rollover_lowest);
    read_number(measured, "coronal_at_30_nm_per_kg", 1, &stance->measured_coronal_at_30);
    read_number(measured, "coronal_at_30_sd_nm_per_kg", 1, &stance->measured_coronal_at_30_sd);
    read_source(forces, stance->force_source);
    read_source(path, stance->path_source);
    read_source(rollover, stance->rollover_source);
    sf_DocNode extensions = sf_doc_member(measured, "socket_extension");
    for (size_t i = 0; i < SF_STANCE_EXTENSIONS; i++) {
        sf_DocNode item = sf_doc_item(extensions, i);
        sf_MeasuredExtension *m = &stance->measured_extension[i];
        read_number(item, "extension_deg", SF_DEG, &m->extension);
        read_number(item, "coronal_at_30_nm_per_kg", 1, &m->coronal);
        read_number(item, "coronal_at_30_sd_nm_per_kg", 1, &m->sd);
    }
    read_source(measured, stance->measured_source);
}

sf_Status sf_stance_load(sf_Stance *stance, sf_Error *err)
{
    *stance = (sf_Stance){ 0 };
    sf_Doc *doc = NULL;
    SF_TRY(sf_doc_parse(&doc, "stance.json", (const char *)sf_stance_data, sf_stance_data_size, err));
    read_curves(stance, sf_doc_root(doc));
    sf_Status status = sf_doc_verdict(doc, err);
    sf_doc_destroy(&doc);
    return status == SF_OK || status == SF_E_MEMORY ? status : SF_E_INTERNAL;
}

sf_GroundForce sf_stance_force(const sf_Stance *stance, double percent, double body_weight, double foot_length,
                               double toe_out)
{
    double scale = stance->lever_per_foot_length * foot_length / stance->reference_lever;
    double ahead = scale * between(stance->percent, stance->ahead_of_ankle, stance->count, percent);
    return (sf_GroundForce){
        .vertical = body_weight * between(stance->percent, stance->vertical, stance->count, percent),
        .forward = body_weight * between(stance->percent, stance->forward, stance->count, percent),
        .outward = body_weight * between(stance->percent, stance->outward, stance->count, percent),
        .cop_f = ahead * cos(toe_out),
        .cop_o = ahead * sin(toe_out),
    };
}

sf_SocketMoment sf_stance_moment(const sf_Chain *chain, const sf_Stand *stand, const sf_GroundForce *force)
{
    double s = chain->side;
    sf_Vector arm = sf_vector_sub((sf_Vector){ force->cop_f, s * force->cop_o, 0 }, stand->base);
    sf_Vector moment = sf_vector_cross(arm, (sf_Vector){ force->forward, s * force->outward, force->vertical });
    return (sf_SocketMoment){
        .sagittal = -sf_vector_dot(moment, sf_rotation_axis(stand->socket, SF_AXIS_Y)),
        .coronal = s * sf_vector_dot(moment, sf_rotation_axis(stand->socket, SF_AXIS_X)),
        .transverse = s * sf_vector_dot(moment, sf_rotation_axis(stand->socket, SF_AXIS_Z)),
    };
}

void sf_stance_curves(sf_StanceCurves *curves, const sf_Stance *stance, const sf_Chain *chain,
                      const sf_Settings *settings, double body_weight, double foot_length)
{
    sf_Stand stand = sf_chain_stand(chain, settings);
    double toe_out = chain->side * stand.foot_heading;
    curves->settings = *settings;
    curves->count = stance->count;
    for (size_t i = 0; i < stance->count; i++) {
        curves->percent[i] = stance->percent[i];
        curves->force[i] = sf_stance_force(stance, stance->percent[i], body_weight, foot_length, toe_out);
        curves->moment[i] = sf_stance_moment(chain, &stand, &curves->force[i]);
    }
}
