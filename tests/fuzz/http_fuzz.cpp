// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <cstring>
#include <memory>
#include <sys/socket.h>
#include <unistd.h>

#include <arpa/inet.h>
#include <netinet/in.h>

#include "http.h"
#include "targets.h"

namespace fuzz {

namespace {

using namespace cavigram::serve;

// Each kind of answer by the first letter of the path.
Answer answered(const Request& request) {
    const char kind = request.path.size() > 1 ? request.path[1] : ' ';
    if (kind == 'u') {
        constexpr std::uint64_t kMost = 1000;
        return small_body(kMost, [](const std::string& body) -> Reply {
            require(body.size() <= kMost, "no body is longer than its limit");
            return sentence(200, "Taken.");
        });
    }
    if (kind == 'w') {
        return Work{[] { return sentence(200, "Made."); }};
    }
    return sentence(200, request.path + request.field("host"));
}

HttpServer& server() {
    static std::unique_ptr<HttpServer> kept;
    if (!kept) {
        HttpLimits limits;
        limits.head_within = limits.idle = limits.response_within = std::chrono::seconds(2);
        kept = std::make_unique<HttpServer>(0, limits);
        kept->start(answered);
        at_end([] { kept.reset(); });
    }
    return *kept;
}

std::string asked(std::string_view sent) {
    const int connection = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons(server().port());
    std::string answer;
    if (::connect(connection, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0) {
        static_cast<void>(::send(connection, sent.data(), sent.size(), MSG_NOSIGNAL));
        ::shutdown(connection, SHUT_WR);
        std::array<char, 4096> piece{};
        ssize_t count = 0;
        while ((count = ::recv(connection, piece.data(), piece.size(), 0)) > 0) {
            answer.append(piece.data(), static_cast<std::size_t>(count));
        }
    }
    // Closed by a reset, so that no port waits for a minute.
    const linger now{1, 0};
    ::setsockopt(connection, SOL_SOCKET, SO_LINGER, &now, sizeof now);
    ::close(connection);
    return answer;
}

}  // namespace

int fuzz_http(Bytes bytes) {
    const std::string answer = asked(text_of(bytes));
    require(answer.empty() || answer.starts_with("HTTP/1."), "what comes back is HTTP");
    // It is still there, and whoever comes next is served.
    static unsigned asks = 0;
    if (++asks % 64 == 0) {
        std::string after;
        // A machine that is busy for longer than the limits above may end one unserved.
        for (int round = 0; round < 3 && after.empty(); ++round) {
            after = asked("GET /x HTTP/1.1\r\nHost: y\r\nConnection: close\r\n\r\n");
        }
        require(after.starts_with("HTTP/1.1 200"), "the server serves whoever comes next");
    }
    return 0;
}

}  // namespace fuzz
