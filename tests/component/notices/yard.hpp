#pragma once

#include <condition_variable>
#include <cstdlib>
#include <deque>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <memory>
#include <mutex>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include <sys/stat.h>

#include "daemon/ledger/ledger.hpp"
#include "daemon/notices/pump.hpp"

/// What the tests of deliveries share: a loop without a clock, scripts, receivers that obey the test.
namespace setwell::notices_test {

using ledger::Delivery;
using ledger::Parcel;
using notices::SendResult;
using quantity::Instant;
using quantity::RouteId;

inline Instant at(std::int64_t seconds) {
  return quantity::instant_from_ms(1'930'000'000'000 + seconds * 1000);
}

/// Runs on the test's thread what others post, in order.
class Loop {
 public:
  [[nodiscard]] notices::Pump::Post door() {
    return [this](std::function<void()> work) {
      const std::lock_guard lock(mutex_);
      work_.push_back(std::move(work));
      changed_.notify_all();
    };
  }
  /// Runs the next thing posted; false when nothing came within ten seconds.
  bool run_one() {
    std::unique_lock lock(mutex_);
    if (!changed_.wait_for(lock, std::chrono::seconds(10), [this] { return !work_.empty(); })) return false;
    const auto work = std::move(work_.front());
    work_.pop_front();
    lock.unlock();
    work();
    return true;
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> work_;
};

/// A folder of its own that goes with it, with programs written into it.
class Folder {
 public:
  Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "setwell-notices-XXXXXX").string();
    if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
    path_ = pattern;
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
  /// A shell script of this text; answers its path.
  [[nodiscard]] std::string script(const std::string& name, const std::string& text) const {
    {
      std::ofstream out(path_ / name);
      out << "#!/bin/sh\n" << text << "\n";
    }
    ::chmod(file(name).c_str(), S_IRWXU);
    return file(name);
  }
  [[nodiscard]] std::string content(const std::string& name) const {
    std::ifstream in(path_ / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }

 private:
  std::filesystem::path path_;
};

/// A receiver that answers what the test lets it, and keeps what it got.
class Receiver : public notices::RouteSender {
 public:
  using Answer = std::function<SendResult(const Delivery&)>;
  explicit Receiver(Answer answer = [](const Delivery&) { return SendResult::sent(); })
      : answer_(std::move(answer)) {}
  [[nodiscard]] SendResult send(const Delivery& delivery) override {
    {
      const std::lock_guard lock(mutex_);
      got_.push_back(delivery.parcel.idempotency_id + "=" + delivery.parcel.body);
    }
    return answer_(delivery);
  }
  [[nodiscard]] std::vector<std::string> got() const {
    const std::lock_guard lock(mutex_);
    return got_;
  }

 private:
  Answer answer_;
  mutable std::mutex mutex_;
  std::vector<std::string> got_;
};

/// A door that stands shut until the test opens it.
class Gate {
 public:
  void open() {
    const std::lock_guard lock(mutex_);
    open_ = true;
    changed_.notify_all();
  }
  void wait() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return open_; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool open_ = false;
};

inline Parcel parcel(const std::string& route, const std::string& id, Instant created = at(0)) {
  Parcel made;
  made.route = RouteId(route);
  made.idempotency_id = id;
  made.body = "body of " + id;
  made.created = created;
  return made;
}

inline Delivery delivery(const std::string& body, const std::string& collapse_key = "") {
  Delivery made;
  made.parcel = parcel("route", "id");
  made.parcel.body = body;
  made.parcel.collapse_key = collapse_key;
  return made;
}

inline ledger::Ledger new_ledger(const std::string& file = ":memory:") {
  auto opened = ledger::Ledger::open(file, ledger::Mode::live);
  if (!opened) throw std::runtime_error(opened.error().detail);
  return std::move(*opened);
}

}  // namespace setwell::notices_test
