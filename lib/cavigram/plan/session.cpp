// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/session.h"

#include <utility>

#include "cavigram/plan/nodes_detail.h"

namespace cavigram {

namespace {

// A zero has one sign, so that keys that compare equal give the same bytes.
PlanRequest with_plain_zeros(PlanRequest request) {
    const auto plain = [](auto& v) { v.array() += 0.0; };
    const auto plain_if = [&](auto& v) {
        if (v) {
            plain(*v);
        }
    };
    plain(request.air.up);
    plain_if(request.air.pour_hole_at_mm);
    for (Vec3& vent : request.air.vents_at_mm) {
        plain(vent);
    }
    if (request.air.show) {
        plain_if(request.air.show->toward);
    }
    plain_if(request.mold.pull);
    plain_if(request.split.pull);
    for (Vec3& grip : request.handle.grips_mm) {
        plain(grip);
    }
    return request;
}

}  // namespace

Plan make_plan(const PlanRequest& request, const Stages& stages, const RunContext& context) {
    detail::Nodes nodes;
    nodes.first.once = true;
    return detail::composed_plan(with_plain_zeros(request), stages, nodes, context);
}

struct Session::Impl {
    detail::Nodes nodes;
};

Session::Session() : impl_(std::make_unique<Impl>()) {}

Session::Session(Soup soup) : Session() {
    impl_->nodes.given = std::make_shared<const Soup>(std::move(soup));
}

Session::~Session() = default;
Session::Session(Session&& other) noexcept = default;
Session& Session::operator=(Session&& other) noexcept = default;

Plan Session::plan(const PlanRequest& request, const Stages& stages, const RunContext& context) {
    return detail::composed_plan(with_plain_zeros(request), stages, impl_->nodes, context);
}

TurnedAir Session::air(const PlanRequest& request, const Vec3& up, const RunContext& context) {
    PlanRequest turned = request;
    turned.air.up = up;
    return detail::composed_air(with_plain_zeros(std::move(turned)), impl_->nodes, context);
}

SessionCounts Session::counts() const {
    return impl_->nodes.counts();
}

}  // namespace cavigram
