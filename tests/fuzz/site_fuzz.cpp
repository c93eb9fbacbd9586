// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstdlib>
#include <memory>
#include <variant>

#include <nlohmann/json.hpp>

#include "guard.h"
#include "intake.h"
#include "site.h"
#include "target.h"
#include "targets.h"
#include "workbench.h"

namespace fuzz {

namespace {

using namespace cavigram::serve;

constexpr std::uint16_t kPort = 80;

// A workbench with one part whose file is no mesh, so that its plan is refused at once.
class Bench {
  public:
    Bench()
        : alone_(::setenv("XDG_DATA_HOME", scratch().c_str(), 1) +
                 ::setenv("XDG_CONFIG_HOME", scratch().c_str(), 1)),
          workbench_(scratch(), (scratch() / "tally.db").string(), 1),
          site_(guard_, workbench_, scratch(), {}, "0") {
        PartFile file;
        file.id = "p";
        file.name = "part.stl";
        file.path = scratch_file("part.stl", "no mesh");
        file.bytes = 1;
        workbench_.add(file);
        Request first;
        first.method = "GET";
        first.path = "/";
        const std::string address = guard_.address();
        first.query["key"] = address.substr(address.find('=') + 1);
        first.fields["host"] = host();
        const Response welcome = guard_.check(first).value_or(Response{});
        for (const auto& [name, value] : welcome.fields) {
            if (name == "Set-Cookie") {
                cookie_ = value.substr(0, value.find(';'));
            }
        }
    }
    static std::string host() { return "127.0.0.1:" + std::to_string(kPort); }
    [[nodiscard]] const std::string& cookie() const { return cookie_; }
    Site& site() { return site_; }

  private:
    int alone_;
    Guard guard_{kPort};
    Workbench workbench_;
    Site site_;
    std::string cookie_;
};

Response finished(Reply reply) {
    return std::holds_alternative<Response>(reply) ? std::get<Response>(std::move(reply))
                                                   : std::get<Work>(reply).make();
}

Response taken(Upload upload, std::string_view body, bool whole) {
    Intake intake(std::move(upload));
    if (auto refused = intake.expect(body.size())) {
        return *refused;
    }
    while (!body.empty()) {
        const std::size_t count = std::min<std::size_t>(body.size(), 100);
        if (auto refused = intake.take(body.substr(0, count))) {
            return *refused;
        }
        body.remove_prefix(count);
    }
    if (!whole) {
        intake.drop();
        return sentence(200, "Dropped.");
    }
    return finished(intake.end());
}

Response answer_of(Answer answer, const Request& request, std::string_view body) {
    if (auto* upload = std::get_if<Upload>(&answer)) {
        // A file that came whole would be planned; it is dropped before its end.
        return taken(std::move(*upload), body, request.path != "/api/parts");
    }
    if (auto* work = std::get_if<Work>(&answer)) {
        return work->make();
    }
    if (auto* events = std::get_if<Events>(&answer)) {
        events->subscribe([](const std::shared_ptr<const std::string>&) {})();
        return sentence(200, "Heard.");
    }
    return std::get<Response>(std::move(answer));
}

}  // namespace

// `METHOD target`, a line break, the body. The fields are those of a person who was let in.
int fuzz_site(Bytes bytes) {
    static std::unique_ptr<Bench> kept;
    if (!kept) {
        kept = std::make_unique<Bench>();
        at_end([] { kept.reset(); });
    }
    Bench& bench = *kept;
    static unsigned asks = 0;
    constexpr unsigned kLogLives = 256;
    if (++asks % kLogLives == 0) {  // what was tallied would grow without end
        std::filesystem::remove(scratch() / "tally.db");
    }
    const std::string_view text = text_of(bytes);
    const std::string_view line = text.substr(0, text.find('\n'));
    const std::size_t space = std::min(line.find(' '), line.size());
    const auto target = parse_target(line.substr(std::min(space + 1, line.size())));
    if (!target || (line.starts_with("DELETE") && target->path.starts_with("/api/parts/p"))) {
        return 0;
    }
    Request request;
    request.method = std::string(line.substr(0, space));
    request.path = target->path;
    request.query = target->query;
    request.fields = {
        {"host", Bench::host()}, {"origin", "http://" + Bench::host()}, {"cookie", bench.cookie()}};
    const Response response = answer_of(bench.site().answer(request), request,
                                        text.substr(std::min(line.size() + 1, text.size())));
    require(response.status != 500, "no request is answered with an error of the server's own");
    require(response.status >= 200 && response.status < 500, "a status that a client expects");
    if (response.type.starts_with("application/json")) {
        require(nlohmann::json::accept(*response.body), "JSON is JSON");
    }
    const auto fields = head_fields(response);
    for (const auto& [name, value] : fields) {
        require(value.find_first_of("\r\n") == value.npos, "a field of the head is one line");
    }
    return 0;
}

}  // namespace fuzz
