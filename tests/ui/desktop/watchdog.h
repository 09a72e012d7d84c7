#pragma once
// How long a window halts.

#include <algorithm>
#include <ctime>

#include <QTimer>

namespace islebook {

// The longest stretch of the window's own processor time between two turns of its event loop: what a person would feel as a halt on a machine that does nothing else.
class Watchdog {
 public:
  Watchdog() {
    timer_.setInterval(2);
    QObject::connect(&timer_, &QTimer::timeout, &timer_, [this] { Look(); });
    last_ = Now();
    timer_.start();
  }
  double longest_ms() const { return longest_; }
  int turns() const { return turns_; }

 private:
  static double Now() {
    timespec time{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
    return 1e3 * static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_nsec);
  }
  void Look() {
    const double now = Now();
    longest_ = std::max(longest_, now - last_);
    last_ = now;
    ++turns_;
  }
  QTimer timer_;
  double last_ = 0.0, longest_ = 0.0;
  int turns_ = 0;
};

}  // namespace islebook
