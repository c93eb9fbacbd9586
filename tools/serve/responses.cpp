// SPDX-License-Identifier: GPL-3.0-or-later
#include "responses.h"

#include <memory>
#include <utility>

#include <fmt/core.h>

#include "fault_words.h"

namespace cavigram::serve {

Response json_response(const nlohmann::json& value, unsigned status) {
    Response response;
    response.status = status;
    response.type = "application/json";
    response.body = std::make_shared<const std::string>(
        value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) + "\n");
    return response;
}

Response bytes(std::string text, const char* type) {
    Response response;
    response.type = type;
    response.body = std::make_shared<const std::string>(std::move(text));
    return response;
}

Response saved(Response response, std::string name) {
    for (char& c : name) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                           (c >= '0' && c <= '9') || c == '.' || c == '-' || c == '_';
        c = plain ? c : '_';
    }
    response.fields.emplace_back("Content-Disposition",
                                 fmt::format("attachment; filename=\"{}\"", name));
    return response;
}

Response not_found() {
    return sentence(404, "There is nothing at this address.");
}

Response wrong_method() {
    return sentence(405, "This can't be done with this address.");
}

Response fault_response(const std::exception& error) {
    const program::FaultWords fault = program::fault_words(error);
    return sentence(fault.of_machine ? 503 : 500, fault.sentence);
}

}  // namespace cavigram::serve
