// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace cavigram::serve {

/// The head of a request.
struct Request {
    std::string method;                        ///< GET, POST, PUT, DELETE ...
    std::string path;                          ///< Without what stands behind the ?, decoded.
    std::map<std::string, std::string> query;  ///< What stands behind it, decoded.
    /// The head's fields by names in small letters. One that comes twice holds both, parted by a
    /// line break, so that none is overlooked.
    std::map<std::string, std::string> fields;

    /// A field, or nothing.
    [[nodiscard]] std::string field(const std::string& name) const;
};

/// What is sent back.
struct Response {
    unsigned status = 200;
    std::string type = "text/plain; charset=utf-8";
    std::shared_ptr<const std::string> body = std::make_shared<const std::string>();
    std::vector<std::pair<std::string, std::string>> fields = {};  ///< More fields of the head.
};

/// A sentence as a response.
[[nodiscard]] Response sentence(unsigned status, const std::string& text);

/// All fields of a response's head but those of the transfer: what every response says, which keeps
/// browsers from guessing, keeping and lending it, and its own, which win.
[[nodiscard]] std::map<std::string, std::string> head_fields(const Response& response);

/// An answer that takes a while; made on a thread that no other request waits for.
struct Work {
    std::function<Response()> make;
};

/// What a body is answered with.
using Reply = std::variant<Response, Work>;

/// Takes a request's body piece by piece, so that none is ever held whole but where the site wants
/// to. Destroyed without `end` where the request is cut off.
class BodySink {
  public:
    BodySink() = default;
    BodySink(const BodySink&) = delete;
    BodySink& operator=(const BodySink&) = delete;
    virtual ~BodySink() = default;
    /// \throw WriteError if it can't be kept
    virtual void take(std::string_view piece) = 0;
    /// The whole body was taken.
    virtual Reply end() = 0;
};

/// The body is wanted: so many bytes at most, within so long.
struct Upload {
    std::unique_ptr<BodySink> sink;
    std::uint64_t most_bytes = 0;
    std::chrono::seconds within{0};
};

/// Takes one event as its listeners read it. May be called from any thread, and does not wait.
using Push = std::function<void(std::shared_ptr<const std::string> event)>;

/// A stream of events (text/event-stream) until the listener leaves. `subscribe` gives what ends
/// the subscription.
struct Events {
    std::function<std::function<void()>(Push push)> subscribe;
};

using Answer = std::variant<Response, Upload, Work, Events>;

/// What a small body, as text, is answered with.
[[nodiscard]] Upload small_body(std::uint64_t most_bytes,
                                std::function<Reply(const std::string& body)> answer);

/// Limits of the server. Public, since tests and docs tell them.
struct HttpLimits {
    std::size_t head_bytes = 16'384;               ///< Of a request's head: 431 beyond it.
    std::size_t connections = 400;                 ///< At once; further ones are closed.
    std::size_t streams = 100;                     ///< Of events at once: 503 beyond it.
    std::size_t stream_backlog_bytes = 4'000'000;  ///< A listener that lags so far is left.
    std::chrono::seconds head_within{10};          ///< For a request's head to arrive whole.
    std::chrono::seconds idle{60};                 ///< A connection waits for its next request.
    std::chrono::seconds response_within{60};      ///< For a response to be taken whole.
    std::chrono::seconds event_within{10};         ///< For an event to be taken.
    std::chrono::milliseconds heartbeat{15'000};   ///< Between signs of life of a stream.
};

/// An HTTP/1.1 server on the loopback address 127.0.0.1, which has no option to listen elsewhere.
///
/// Two threads serve any number of connections; a client that is slow, silent or hostile holds a
/// connection until a deadline, never a thread. Each request has deadlines as a whole: head, body
/// and response each must be done by theirs, however lively the bytes drip.
class HttpServer {
  public:
    /// Takes the port; 0: one that is free. Nothing is answered before `start`.
    ///
    /// \throw WriteError if the port is taken
    explicit HttpServer(std::uint16_t port, const HttpLimits& limits = {});
    /// Ends all connections.
    ~HttpServer();
    HttpServer(const HttpServer&) = delete;
    HttpServer& operator=(const HttpServer&) = delete;

    /// The port that it listens on.
    [[nodiscard]] std::uint16_t port() const;
    /// Whether a Work is being made.
    [[nodiscard]] bool works() const;
    /// Answers from now on. `site` is called on the server's threads, answers at once and throws
    /// nothing.
    void start(std::function<Answer(const Request&)> site);

  private:
    class Engine;
    std::unique_ptr<Engine> engine_;
};

}  // namespace cavigram::serve
