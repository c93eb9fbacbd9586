// SPDX-License-Identifier: GPL-3.0-or-later
// The one file that knows Boost.Beast.
#include <algorithm>
#include <array>
#include <cctype>
#include <limits>
#include <optional>
#include <thread>

#include <boost/asio/dispatch.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <fmt/core.h>

#include "cavigram/core/error.h"

#include "event_backlog.h"
#include "http.h"
#include "intake.h"
#include "places.h"
#include "target.h"

namespace cavigram::serve {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using net::ip::tcp;
using ErrorCode = beast::error_code;

namespace {

constexpr std::size_t kPiece = 65'536;
constexpr std::chrono::seconds kLinger{2};

std::string small(beast::string_view name) {
    std::string text(name);
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return text;
}

std::optional<Request> request_of(const http::request_header<>& head) {
    Request request;
    request.method = std::string(head.method_string());
    const std::optional<Target> target = parse_target({head.target().data(), head.target().size()});
    if (!target) {
        return std::nullopt;
    }
    request.path = target->path;
    request.query = target->query;
    for (const auto& field : head) {
        std::string& held = request.fields[small(field.name_string())];
        held += (held.empty() ? "" : "\n") + std::string(field.value());
    }
    return request;
}

}  // namespace

class HttpServer::Engine {
  public:
    Engine(std::uint16_t port, const HttpLimits& limits);
    ~Engine();
    Engine(const Engine&) = delete;
    Engine& operator=(const Engine&) = delete;
    void start(std::function<Answer(const Request&)> site);
    [[nodiscard]] std::uint16_t port() const { return acceptor_.local_endpoint().port(); }
    [[nodiscard]] bool works() const { return works_.taken() > 0; }

  private:
    class Connection;

    void accept();

    // Connections count themselves out, so what they count with goes last.
    HttpLimits limits_;
    Places connections_{limits_.connections};
    Places streams_{limits_.streams};
    Places works_;
    std::function<Answer(const Request&)> site_;
    net::io_context io_{2};
    // Not a thread_pool: one that gets a first thread and no second waits for the first forever.
    net::io_context workers_{2};
    net::executor_work_guard<net::io_context::executor_type> open_{workers_.get_executor()};
    tcp::acceptor acceptor_{io_};
    net::steady_timer pause_{io_};
    std::vector<std::thread> threads_;
    std::vector<std::thread> worker_threads_;
};

// One client. All of it runs on one strand; it lives as long as an operation of its own is pending.
class HttpServer::Engine::Connection : public std::enable_shared_from_this<Connection> {
  public:
    Connection(tcp::socket socket, Engine& engine, Places::Place place)
        : engine_(engine),
          place_(std::move(place)),
          stream_(std::move(socket)),
          heartbeat_(stream_.get_executor()),
          backlog_(engine.limits_.stream_backlog_bytes) {}
    ~Connection() { end_events(); }
    Connection(const Connection&) = delete;
    Connection& operator=(const Connection&) = delete;

    void begin() {
        net::dispatch(stream_.get_executor(), [self = shared_from_this()] { self->read_head(); });
    }

  private:
    void await_next();
    void read_head();
    void head_read(ErrorCode error);
    void refuse_head(ErrorCode error);
    void answer(Answer answer);
    void receive(Upload upload);
    void read_piece();
    void piece_read(ErrorCode error);
    void respond(const Response& response);
    void responded(ErrorCode error, bool keep);
    void linger();
    void stream_events(const Events& events);
    void watch();
    void beat();
    void push(std::shared_ptr<const std::string> event);
    void write_event();
    void end_events();
    void close();

    Engine& engine_;
    Places::Place place_;
    beast::tcp_stream stream_;
    beast::flat_buffer buffer_{2 * kPiece};
    std::optional<http::request_parser<http::buffer_body>> parser_;
    bool head_only_ = false;

    Intake intake_;
    std::array<char, kPiece> piece_{};

    std::shared_ptr<const std::string> body_;
    std::optional<http::response<http::span_body<const char>>> response_;

    net::steady_timer heartbeat_;
    Places::Place listening_;  // while this is a stream of events
    std::function<void()> unsubscribe_;
    EventBacklog backlog_;
};

// Waits for the first byte of another request, which has longer than the rest of its head.
void HttpServer::Engine::Connection::await_next() {
    if (buffer_.size() > 0) {
        read_head();
        return;
    }
    stream_.expires_after(engine_.limits_.idle);
    stream_.async_read_some(buffer_.prepare(kPiece),
                            [self = shared_from_this()](ErrorCode error, std::size_t count) {
                                if (error) {
                                    self->close();
                                    return;
                                }
                                self->buffer_.commit(count);
                                self->read_head();
                            });
}

void HttpServer::Engine::Connection::read_head() {
    parser_.emplace();
    parser_->header_limit(static_cast<std::uint32_t>(engine_.limits_.head_bytes));
    parser_->body_limit(std::numeric_limits<std::uint64_t>::max());  // each answer has its own
    stream_.expires_after(engine_.limits_.head_within);
    http::async_read_header(
        stream_, buffer_, *parser_,
        [self = shared_from_this()](ErrorCode error, std::size_t) { self->head_read(error); });
}

void HttpServer::Engine::Connection::refuse_head(ErrorCode error) {
    if (error == http::error::header_limit) {
        respond(sentence(431, "The request's head is too long."));
    } else if (error == http::error::end_of_stream || error == beast::error::timeout ||
               error.category() != make_error_code(http::error::bad_method).category()) {
        close();
    } else {
        respond(sentence(400, "This is no request that can be understood."));
    }
}

void HttpServer::Engine::Connection::head_read(ErrorCode error) {
    head_only_ = false;
    if (error) {
        parser_.reset();
        refuse_head(error);
        return;
    }
    head_only_ = parser_->get().method() == http::verb::head;
    const std::optional<Request> request = request_of(parser_->get());
    if (!request) {
        respond(sentence(400, "This address can't be understood."));
        return;
    }
    answer(engine_.site_(*request));
}

void HttpServer::Engine::Connection::answer(Answer answer) {
    if (auto* upload = std::get_if<Upload>(&answer)) {
        receive(std::move(*upload));
    } else if (auto* work = std::get_if<Work>(&answer)) {
        net::post(engine_.workers_, [self = shared_from_this(), place = engine_.works_.take(),
                                     make = std::move(work->make)] {
            net::post(self->stream_.get_executor(),
                      [self, response = make()] { self->respond(response); });
        });
    } else if (auto* events = std::get_if<Events>(&answer)) {
        stream_events(*events);
    } else {
        respond(std::get<Response>(answer));
    }
}

// ---- bodies -------------------------------------------------------------------------------------

void HttpServer::Engine::Connection::receive(Upload upload) {
    intake_ = Intake(std::move(upload));
    if (const auto refused = intake_.expect(parser_->content_length().value_or(0))) {
        respond(*refused);
        return;
    }
    stream_.expires_after(intake_.within());
    if (!beast::iequals(parser_->get()[http::field::expect], "100-continue")) {
        read_piece();
        return;
    }
    static constexpr beast::string_view kContinue = "HTTP/1.1 100 Continue\r\n\r\n";
    net::async_write(stream_, net::buffer(kContinue.data(), kContinue.size()),
                     [self = shared_from_this()](ErrorCode error, std::size_t) {
                         error ? self->close() : self->read_piece();
                     });
}

void HttpServer::Engine::Connection::read_piece() {
    if (parser_->is_done()) {
        std::visit([this](auto reply) { answer(std::move(reply)); }, intake_.end());
        return;
    }
    parser_->get().body().data = piece_.data();
    parser_->get().body().size = piece_.size();
    http::async_read(
        stream_, buffer_, *parser_,
        [self = shared_from_this()](ErrorCode error, std::size_t) { self->piece_read(error); });
}

void HttpServer::Engine::Connection::piece_read(ErrorCode error) {
    // What came before the body was cut off may have been too much already.
    const std::size_t count = piece_.size() - parser_->get().body().size;
    if (const auto refused = intake_.take({piece_.data(), count})) {
        respond(*refused);
    } else if (!error || error == http::error::need_buffer) {
        read_piece();
    } else {
        intake_.drop();
        const bool malformed =
            error.category() == make_error_code(http::error::bad_method).category() &&
            error != http::error::partial_message && error != http::error::end_of_stream;
        malformed ? respond(sentence(400, "The request's body can't be understood.")) : close();
    }
}

// ---- responses ----------------------------------------------------------------------------------

void HttpServer::Engine::Connection::respond(const Response& given) {
    // What is left of a body that nobody wanted can't be told from the next request.
    const bool keep = parser_ && parser_->is_done() && parser_->keep_alive();
    body_ = given.body;
    response_.emplace();
    response_->version(11);
    response_->result(given.status);
    for (const auto& [name, value] : head_fields(given)) {
        response_->set(name, value);
    }
    response_->keep_alive(keep);
    response_->content_length(body_->size());
    if (!head_only_) {
        response_->body() = beast::span<const char>(body_->data(), body_->size());
    }
    stream_.expires_after(engine_.limits_.response_within);
    http::async_write(stream_, *response_,
                      [self = shared_from_this(), keep](ErrorCode error, std::size_t) {
                          self->responded(error, keep);
                      });
}

void HttpServer::Engine::Connection::responded(ErrorCode error, bool keep) {
    response_.reset();
    body_.reset();
    if (error) {
        close();
    } else if (keep) {
        parser_.reset();
        await_next();
    } else {
        ErrorCode ignored;
        stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
        stream_.expires_after(kLinger);
        linger();
    }
}

// A connection that is closed while bytes arrive takes the response with it, so they are read away
// for a while.
void HttpServer::Engine::Connection::linger() {
    stream_.async_read_some(net::buffer(piece_),
                            [self = shared_from_this()](ErrorCode error, std::size_t) {
                                error ? self->close() : self->linger();
                            });
}

void HttpServer::Engine::Connection::close() {
    end_events();
    heartbeat_.cancel();
    ErrorCode ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_both, ignored);
    stream_.close();
}

// ---- events -------------------------------------------------------------------------------------

void HttpServer::Engine::Connection::stream_events(const Events& events) {
    listening_ = engine_.streams_.take();
    if (!listening_) {
        respond(sentence(503, "Too many pages listen; close one."));
        return;
    }
    std::string head = "HTTP/1.1 200 OK\r\nConnection: close\r\n";
    for (const auto& [name, value] : head_fields({.type = "text/event-stream"})) {
        head += fmt::format("{}: {}\r\n", name, value);
    }
    head += "\r\n";
    push(std::make_shared<const std::string>(std::move(head)));
    // Weak, so that whoever sends events keeps no connection alive.
    unsubscribe_ = events.subscribe([weak = weak_from_this(), executor = stream_.get_executor()](
                                        std::shared_ptr<const std::string> event) {
        net::post(executor, [weak, event = std::move(event)]() mutable {
            if (const auto self = weak.lock()) {
                self->push(std::move(event));
            }
        });
    });
    beat();
    watch();
}

// A listener says nothing; what it does say is dropped, and its leaving is noticed. It may be
// silent for as long as it likes: an event that is being written keeps its own deadline.
void HttpServer::Engine::Connection::watch() {
    if (!listening_) {
        return;
    }
    stream_.expires_never();
    stream_.async_read_some(net::buffer(piece_),
                            [self = shared_from_this()](ErrorCode error, std::size_t) {
                                error ? self->close() : self->watch();
                            });
}

void HttpServer::Engine::Connection::beat() {
    heartbeat_.expires_after(engine_.limits_.heartbeat);
    heartbeat_.async_wait([weak = weak_from_this()](ErrorCode error) {
        const auto self = error ? nullptr : weak.lock();
        if (self && self->listening_) {
            self->push(std::make_shared<const std::string>(":\n\n"));
            self->beat();
        }
    });
}

void HttpServer::Engine::Connection::push(std::shared_ptr<const std::string> event) {
    if (!listening_) {
        return;
    }
    if (!backlog_.push(std::move(event))) {
        close();
    } else if (backlog_.size() == 1) {
        write_event();
    }
}

void HttpServer::Engine::Connection::write_event() {
    // For this write alone: the watching read is pending and keeps its own, or begins without one.
    stream_.expires_after(engine_.limits_.event_within);
    net::async_write(stream_, net::buffer(backlog_.front()),
                     [self = shared_from_this()](ErrorCode error, std::size_t) {
                         if (error || !self->listening_) {
                             self->close();
                             return;
                         }
                         self->backlog_.pop();
                         if (self->backlog_.size() > 0) {
                             self->write_event();
                         }
                     });
}

void HttpServer::Engine::Connection::end_events() {
    if (unsubscribe_) {
        std::exchange(unsubscribe_, nullptr)();
    }
    listening_.reset();
}

// ---- the server ---------------------------------------------------------------------------------

HttpServer::Engine::Engine(std::uint16_t port, const HttpLimits& limits) : limits_(limits) {
    const tcp::endpoint loopback(net::ip::address_v4::loopback(), port);
    ErrorCode error;
    acceptor_.open(loopback.protocol(), error);
    if (!error) {
        acceptor_.set_option(net::socket_base::reuse_address(true), error);
    }
    if (!error) {
        acceptor_.bind(loopback, error);
    }
    if (!error) {
        acceptor_.listen(net::socket_base::max_listen_connections, error);
    }
    if (error) {
        throw WriteError(
            fmt::format("Can't listen on port {}: {}; give another one.", port, error.message()));
    }
}

HttpServer::Engine::~Engine() {
    io_.stop();
    for (std::thread& thread : threads_) {
        thread.join();
    }
    open_.reset();  // what has begun is done to its end
    for (std::thread& thread : worker_threads_) {
        thread.join();
    }
}

void HttpServer::Engine::start(std::function<Answer(const Request&)> site) {
    site_ = std::move(site);
    accept();
    const auto run = [](net::io_context& context) {
        while (!context.stopped()) {
            try {
                context.run();
            } catch (const std::exception&) {
                // Out of memory in one connection's handler: that connection is gone with it.
                continue;
            }
        }
    };
    for (int i = 0; i < 2; ++i) {
        threads_.emplace_back([this, run] { run(io_); });
        worker_threads_.emplace_back([this, run] { run(workers_); });
    }
}

void HttpServer::Engine::accept() {
    acceptor_.async_accept(net::make_strand(io_), [this](ErrorCode error, tcp::socket socket) {
        if (error == net::error::operation_aborted) {
            return;
        }
        if (!error) {
            if (Places::Place place = connections_.take()) {
                std::make_shared<Connection>(std::move(socket), *this, std::move(place))->begin();
            }
            accept();
            return;
        }
        // Out of file numbers: some connection will end.
        pause_.expires_after(std::chrono::milliseconds(100));
        pause_.async_wait([this](ErrorCode stopped) {
            if (!stopped) {
                accept();
            }
        });
    });
}

HttpServer::HttpServer(std::uint16_t port, const HttpLimits& limits)
    : engine_(std::make_unique<Engine>(port, limits)) {}

HttpServer::~HttpServer() = default;

std::uint16_t HttpServer::port() const {
    return engine_->port();
}

bool HttpServer::works() const {
    return engine_->works();
}

void HttpServer::start(std::function<Answer(const Request&)> site) {
    engine_->start(std::move(site));
}

}  // namespace cavigram::serve
