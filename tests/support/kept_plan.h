// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/session.h"

/// The plan of a part that the tests of a file ask for again and again: what one of them computed
/// is not computed again. It is what make_plan gives, byte for byte (plan/session_test).
inline cavigram::Plan kept_plan(const cavigram::PlanRequest& request,
                                const cavigram::Stages& stages) {
    static cavigram::Session session;
    return session.plan(request, stages);
}
