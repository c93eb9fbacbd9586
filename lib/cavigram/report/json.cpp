// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/json.h"

#include <vector>

#include <nlohmann/json.hpp>

#include "cavigram/report/fields/blocks_detail.h"
#include "cavigram/report/json_detail.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;

// Builds the value as it is told.
// NOLINTNEXTLINE(bugprone-exception-escape): an empty value of the library throws nothing
class JsonSink : public detail::Sink {
  public:
    void key(const std::string& name) override { key_ = name; }
    void number(double value) override { put(value); }
    void whole(long long value) override { put(value); }
    void text(std::string_view value) override { put(std::string(value)); }
    void flag(bool value) override { put(value); }
    void null() override { put(nullptr); }
    void begin_object() override { open_.push_back(put(Json::object())); }
    void end_object() override { open_.pop_back(); }
    void begin_list() override { open_.push_back(put(Json::array())); }
    void end_list() override { open_.pop_back(); }

    [[nodiscard]] const Json& root() const { return root_; }

  private:
    Json* put(Json value) {
        if (open_.empty()) {
            root_ = std::move(value);
            return &root_;
        }
        Json& within = *open_.back();
        if (within.is_array()) {
            within.push_back(std::move(value));
            return &within.back();
        }
        return &(within[key_] = std::move(value));
    }

    Json root_;
    std::vector<Json*> open_;  // each is the last of the one before it, so none moves
    std::string key_;
};

}  // namespace

namespace detail {

std::string json_bytes(const std::function<void(Sink&)>& write, int indent, bool ascii) {
    JsonSink sink;
    write(sink);
    // A file name need not be valid UTF-8; what is not is replaced rather than refused.
    return sink.root().dump(indent, ' ', ascii, Json::error_handler_t::replace);
}

}  // namespace detail

std::string json_text(const Plan& plan) {
    return detail::json_bytes([&](detail::Sink& sink) { detail::plan_block().write(plan, sink); },
                              2, false) +
           "\n";
}

}  // namespace cavigram
