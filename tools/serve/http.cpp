// SPDX-License-Identifier: GPL-3.0-or-later
// What has nothing to do with sockets.
#include "http.h"

namespace cavigram::serve {

namespace {

class TextSink : public BodySink {
  public:
    explicit TextSink(std::function<Reply(const std::string&)> answer)
        : answer_(std::move(answer)) {}
    void take(std::string_view piece) override { text_ += piece; }
    Reply end() override { return answer_(text_); }

  private:
    std::string text_;
    std::function<Reply(const std::string&)> answer_;
};

}  // namespace

std::string Request::field(const std::string& name) const {
    const auto at = fields.find(name);
    return at == fields.end() ? "" : at->second;
}

Response sentence(unsigned status, const std::string& text) {
    Response response;
    response.status = status;
    response.body = std::make_shared<const std::string>(text + "\n");
    return response;
}

std::map<std::string, std::string> head_fields(const Response& response) {
    std::map<std::string, std::string> fields = {
        {"Content-Type", response.type},
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "no-referrer"},
        {"Cache-Control", "no-store"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'"}};
    for (const auto& [name, value] : response.fields) {
        fields[name] = value;
    }
    return fields;
}

Upload small_body(std::uint64_t most_bytes, std::function<Reply(const std::string& body)> answer) {
    constexpr std::chrono::seconds kWithin{10};
    return {std::make_unique<TextSink>(std::move(answer)), most_bytes, kWithin};
}

}  // namespace cavigram::serve
