#include "ui/service/http_server.h"

#include <algorithm>
#include <atomic>
#include <csignal>
#include <list>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <sys/resource.h>
#include <boost/asio/dispatch.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>

namespace islebook {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using asio::ip::tcp;
using BeastError = beast::error_code;

constexpr std::size_t kQuickBody = 32 << 10;  // larger requests are worked on beside the threads that read and write
constexpr std::size_t kDrained = 4 << 20;     // bytes of a refused request that are still taken, so that its sender can read why
constexpr std::chrono::seconds kDrainTime{2};
constexpr int kSpareFiles = 64;
constexpr int kMostSlow = 32;                 // cases for the bench that may wait
constexpr std::size_t kReadAhead = 64 << 10;  // bytes taken while an answer is worked out

std::string_view View(beast::string_view text) { return {text.data(), text.size()}; }

class Session;

// What all sessions share.
struct Shared {
  Shared(MapService& map_service, const HttpServerOptions& server_options) : service(map_service), options(server_options) {
    workers.emplace(2);
    slow_workers.emplace(1);
  }
  MapService& service;
  HttpServerOptions options;
  std::optional<asio::thread_pool> workers, slow_workers;  // large questions; cases for the bench, which would keep them waiting
  std::atomic<int> slow_waiting{0};
  std::atomic<bool> stopping{false};
  std::atomic<std::size_t> pending{0};         // bytes of requests and responses under way
  std::mutex mutex;                            // of the list
  std::list<std::weak_ptr<Session>> sessions;  // the longest idle first
};

class Session : public std::enable_shared_from_this<Session> {
 public:
  Session(tcp::socket socket, Shared& shared) : stream_(std::move(socket)), shared_(shared) {
    beast::error_code ignored;
    stream_.socket().set_option(tcp::no_delay(true), ignored);
  }
  ~Session() {
    shared_.pending -= reserved_;
    const std::scoped_lock lock(shared_.mutex);
    if (listed_) shared_.sessions.erase(place_);
  }

  void Start() {
    {
      const std::scoped_lock lock(shared_.mutex);
      place_ = shared_.sessions.insert(shared_.sessions.end(), weak_from_this());
      listed_ = true;
    }
    asio::dispatch(stream_.get_executor(), beast::bind_front_handler(&Session::ReadHeader, shared_from_this()));
  }

  void CloseFromOutside() {
    asio::post(stream_.get_executor(), [self = shared_from_this()] { self->stream_.close(); });
  }

 private:
  void ReadHeader() {
    parser_.emplace();
    parser_->header_limit(static_cast<std::uint32_t>(shared_.options.largest_header));
    parser_->body_limit(shared_.options.largest_body);
    response_.reset();
    continue_.reset();
    shared_.pending -= std::exchange(reserved_, 0);
    // While nothing has come, the connection may idle; once a request has begun, it has its time to be whole.
    if (buffer_.size() > 0) return ReadRequest();
    stream_.expires_after(shared_.options.idle_time);
    stream_.async_read_some(buffer_.prepare(4096), beast::bind_front_handler(&Session::OnFirst, shared_from_this()));
  }

  void OnFirst(BeastError error, std::size_t bytes) {
    if (error) return;
    buffer_.commit(bytes);
    ReadRequest();
  }

  void ReadRequest() {
    {
      const std::scoped_lock lock(shared_.mutex);
      shared_.sessions.splice(shared_.sessions.end(), shared_.sessions, place_);
    }
    stream_.expires_after(shared_.options.request_time);
    http::async_read_header(stream_, buffer_, *parser_, beast::bind_front_handler(&Session::OnHeader, shared_from_this()));
  }

  void OnHeader(BeastError error, std::size_t) {
    if (error) return Refuse(error);
    if (parser_->content_length() && *parser_->content_length() > shared_.options.largest_body) return Refuse(http::error::body_limit);
    // What is not told is taken as the most that it may be.
    const auto length = parser_->content_length();
    const std::size_t body = length ? static_cast<std::size_t>(*length) : parser_->chunked() ? shared_.options.largest_body : 0;
    if (body > 0 && !Reserve(body))
      return Respond(ProblemResponse(503, {ErrorCode::kInternal, "the service has its hands full; ask again in a moment.", ""}), true);
    if (beast::iequals(parser_->get()[http::field::expect], "100-continue")) {
      continue_.emplace(http::status::continue_, parser_->get().version());
      http::async_write(stream_, *continue_, beast::bind_front_handler(&Session::OnContinued, shared_from_this()));
      return;
    }
    ReadBody();
  }

  void OnContinued(BeastError error, std::size_t) {
    if (!error) ReadBody();
  }

  void ReadBody() { http::async_read(stream_, buffer_, *parser_, beast::bind_front_handler(&Session::OnRequest, shared_from_this())); }

  void OnRequest(BeastError error, std::size_t) {
    if (error) return Refuse(error);
    stream_.expires_never();
    const bool slow = MapService::TakesLong(Asked());
    if (!slow && parser_->get().body().size() <= kQuickBody) {
      Respond(Answer(), false);
      return;
    }
    if (slow && shared_.slow_waiting >= kMostSlow)
      return Respond(ProblemResponse(503, {ErrorCode::kInternal, "too many cases wait for the bench; ask again in a moment.", ""}), false);
    if (!slow) {
      asio::post(*shared_.workers, [self = shared_from_this()] {
        auto answer = std::make_shared<ServiceResponse>(self->Answer());
        asio::post(self->stream_.get_executor(), [self, answer] { self->Respond(std::move(*answer), false); });
      });
      return;
    }
    ++shared_.slow_waiting;
    gone_ = false;
    waited_for_.reset();
    Watch();
    asio::post(*shared_.slow_workers, [self = shared_from_this()] {
      // Who left while others had their turn is not worked for.
      auto answer = std::make_shared<ServiceResponse>(self->gone_ ? ServiceResponse{} : self->Answer());
      --self->shared_.slow_waiting;
      asio::post(self->stream_.get_executor(), [self, answer] {
        if (self->gone_) return self->stream_.close();
        if (!self->watching_) return self->Respond(std::move(*answer), false);
        self->waited_for_ = std::move(*answer);
        self->stream_.cancel();  // the watch ends and responds
      });
    });
  }

  // Looks whether somebody still waits for the answer, by reading on: nothing more comes before it but what belongs to a next request.
  void Watch() {
    watching_ = true;
    stream_.async_read_some(buffer_.prepare(4096), [self = shared_from_this()](BeastError error, std::size_t bytes) {
      self->watching_ = false;
      self->buffer_.commit(bytes);
      if (self->waited_for_) return self->Respond(std::move(*std::exchange(self->waited_for_, std::nullopt)), false);
      if (error) {
        self->gone_ = true;
        return;
      }
      if (self->buffer_.size() < kReadAhead) self->Watch();
    });
  }

  ServiceRequest Asked() const {
    const auto& request = parser_->get();
    ServiceRequest asked;
    asked.method = View(request.method_string());
    asked.target = View(request.target());
    asked.host = View(request[http::field::host]);
    asked.authorization = View(request[http::field::authorization]);
    asked.content_type = View(request[http::field::content_type]);
    asked.body = request.body();
    asked.gone = [this] { return gone_ || shared_.stopping; };
    return asked;
  }

  ServiceResponse Answer() const {
    try {
      return shared_.service.Handle(Asked());
    } catch (const std::exception&) {  // memory ran out
      return ProblemResponse(503, {ErrorCode::kInternal, "the service ran short of memory; ask for fewer points at a time.", ""});
    }
  }

  bool Reserve(std::size_t bytes) {
    reserved_ += bytes;
    return (shared_.pending += bytes) <= shared_.options.most_pending;
  }

  // A request that is none, too large or too slow: says so where somebody still listens, and closes.
  void Refuse(BeastError error) {
    const auto say = [this](int status, std::string sentence) {
      Respond(ProblemResponse(status, {ErrorCode::kInvalidArgument, std::move(sentence), ""}), true);
    };
    if (error == http::error::body_limit)
      return say(413, fmt::format("the request is larger than {} bytes; send the points in several requests.", shared_.options.largest_body));
    if (error == http::error::header_limit) return say(431, fmt::format("the header is larger than {} bytes.", shared_.options.largest_header));
    if (error == beast::error::timeout) {
      // The stream has shut its side; whoever is that slow learns by the closed connection.
      stream_.close();
      return;
    }
    if (error == http::error::end_of_stream || error == http::error::partial_message ||
        error.category() != http::make_error_code(http::error::bad_method).category()) {
      stream_.close();
      return;
    }
    say(400, fmt::format("the request cannot be read: {}.", error.message()));
  }

  void Respond(ServiceResponse answer, bool last) {
    Reserve(answer.body.size());
    const bool head = parser_->is_header_done() && parser_->get().method() == http::verb::head;
    const unsigned version = parser_->is_header_done() ? parser_->get().version() : 11;
    response_.emplace(static_cast<http::status>(answer.status), version);
    response_->set(http::field::server, "islebook");
    response_->set(http::field::content_type, answer.content_type);
    response_->set("X-Content-Type-Options", "nosniff");
    response_->set(http::field::cache_control, "no-store");
    for (const auto& [name, value] : answer.headers) response_->set(name, value);
    response_->keep_alive(!last && parser_->get().keep_alive());
    response_->content_length(answer.body.size());
    if (!head) response_->body() = std::move(answer.body);
    last_ = !response_->keep_alive();
    refused_ = last;
    stream_.expires_after(shared_.options.request_time);
    if (head) {
      serializer_.emplace(*response_);
      http::async_write_header(stream_, *serializer_, beast::bind_front_handler(&Session::OnWritten, shared_from_this()));
    } else {
      http::async_write(stream_, *response_, beast::bind_front_handler(&Session::OnWritten, shared_from_this()));
    }
  }

  void OnWritten(BeastError error, std::size_t) {
    serializer_.reset();
    if (error) return;
    if (!last_) return ReadHeader();
    BeastError ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
    if (!refused_) return;
    stream_.expires_after(kDrainTime);
    Drain();
  }

  void Drain() {
    buffer_.clear();
    stream_.async_read_some(buffer_.prepare(64 << 10), [self = shared_from_this()](BeastError error, std::size_t bytes) {
      self->drained_ += bytes;
      if (!error && self->drained_ < kDrained) self->Drain();
    });
  }

  beast::tcp_stream stream_;
  Shared& shared_;
  std::list<std::weak_ptr<Session>>::iterator place_;
  bool listed_ = false;
  beast::flat_buffer buffer_;
  std::optional<http::request_parser<http::string_body>> parser_;
  std::optional<http::response<http::empty_body>> continue_;
  std::optional<http::response<http::string_body>> response_;
  std::optional<http::response_serializer<http::string_body>> serializer_;
  bool last_ = false, refused_ = false;
  bool watching_ = false;
  std::atomic<bool> gone_{false};
  std::optional<ServiceResponse> waited_for_;  // worked out; responded with as soon as the watch has ended
  std::size_t drained_ = 0, reserved_ = 0;
};

// As many open files as this process may have; returns how many.
std::size_t RaiseFileLimit() {
  struct rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0) return 1024;
  if (limit.rlim_cur < limit.rlim_max) {
    struct rlimit raised = limit;
    raised.rlim_cur = std::min<rlim_t>(limit.rlim_max, 65536);
    if (setrlimit(RLIMIT_NOFILE, &raised) == 0) limit = raised;
  }
  return static_cast<std::size_t>(limit.rlim_cur);
}

}  // namespace

Result<void> HttpServerOptions::Check() const {
  BeastError error;
  asio::ip::make_address(address, error);
  if (error) return Fail(ErrorCode::kInvalidArgument, "give an address in numbers, such as 127.0.0.1 or ::1.", address);
  if (threads < 1 || threads > 64 || most_connections < 1 || largest_header < 1024 || largest_body < 1024 || request_time.count() < 1 ||
      idle_time.count() < 1)
    return Fail(ErrorCode::kInvalidArgument, "a limit of the server makes no sense.", "");
  return {};
}

bool IsLoopback(const std::string& address) {
  BeastError error;
  const auto parsed = asio::ip::make_address(address, error);
  return !error && parsed.is_loopback();
}

struct HttpServer::Impl {
  Impl(MapService& service, const HttpServerOptions& options)
      : shared(service, options), context(options.threads), acceptor(context), signals(context), pause(context) {}

  Shared shared;
  asio::io_context context;
  tcp::acceptor acceptor;
  asio::signal_set signals;
  asio::steady_timer pause;
  std::size_t most_connections = 0;
  std::atomic<int> signal_number{0};

  void CloseLongestIdle() {
    std::shared_ptr<Session> oldest;
    {
      const std::scoped_lock lock(shared.mutex);
      if (!shared.sessions.empty()) oldest = shared.sessions.front().lock();
    }
    if (oldest) oldest->CloseFromOutside();
  }

  bool Full() {
    const std::scoped_lock lock(shared.mutex);
    return shared.sessions.size() >= most_connections;
  }

  void Accept() {
    acceptor.async_accept(asio::make_strand(context), [this](BeastError error, tcp::socket socket) {
      if (!acceptor.is_open()) return;
      if (error) {  // out of files, for instance: make room, and do not spin
        CloseLongestIdle();
        pause.expires_after(std::chrono::milliseconds(20));
        pause.async_wait([this](BeastError) { Accept(); });
        return;
      }
      if (Full()) CloseLongestIdle();
      std::make_shared<Session>(std::move(socket), shared)->Start();
      Accept();
    });
  }
};

HttpServer::HttpServer(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

HttpServer::~HttpServer() {
  impl_->shared.stopping = true;
  // Before the context goes, in which what the workers hold has its sockets.
  for (std::optional<asio::thread_pool>* workers : {&impl_->shared.workers, &impl_->shared.slow_workers}) {
    (*workers)->stop();
    (*workers)->join();
    workers->reset();
  }
}

Result<std::unique_ptr<HttpServer>> HttpServer::Listen(MapService& service, const HttpServerOptions& options) {
  if (auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  auto impl = std::make_unique<Impl>(service, options);
  const std::size_t files = RaiseFileLimit();
  impl->most_connections = std::min(options.most_connections, files > 2 * kSpareFiles ? files - kSpareFiles : files / 2);
  const tcp::endpoint endpoint(asio::ip::make_address(options.address), options.port);
  BeastError error;
  impl->acceptor.open(endpoint.protocol(), error);
  if (!error) impl->acceptor.set_option(asio::socket_base::reuse_address(true), error);
  if (!error) impl->acceptor.bind(endpoint, error);
  if (!error) impl->acceptor.listen(1024, error);
  if (error)
    return Fail(ErrorCode::kCannotWrite, fmt::format("the port cannot be used: {}; give another with --port.", error.message()),
                fmt::format("{} port {}", options.address, options.port));
  return std::unique_ptr<HttpServer>(new HttpServer(std::move(impl)));
}

std::uint16_t HttpServer::port() const {
  BeastError ignored;
  return impl_->acceptor.local_endpoint(ignored).port();
}

int HttpServer::Run() {
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) impl_->signals.add(number);
  impl_->signals.async_wait([this](BeastError error, int number) {
    if (error) return;
    impl_->signal_number = number;
    impl_->context.stop();
  });
  impl_->Accept();
  {
    std::vector<std::jthread> threads;
    for (int i = 1; i < impl_->shared.options.threads; ++i) threads.emplace_back([this] { impl_->context.run(); });
    impl_->context.run();
  }
  return impl_->signal_number;
}

void HttpServer::Stop() { impl_->context.stop(); }

}  // namespace islebook
