#pragma once
// Random draws that are the same on every machine and library.

#include <cstdint>
#include <span>
#include <vector>

namespace islebook::paint {

class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed ^ 0xD1B54A32D192ED03ull) {
    state_ = Next() ^ (Next() << 1);  // neighboring seeds start far apart
  }
  std::uint64_t Next() {  // SplitMix64 (Steele, Lea, Flood: Fast splittable pseudorandom number generators, OOPSLA 2014)
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ull);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
    return z ^ (z >> 31);
  }
  double Part() { return static_cast<double>(Next() >> 11) * 0x1.0p-53; }  // 0 <= x < 1
  double Between(double low, double high) { return low + (high - low) * Part(); }
  int Whole(int low, int high) { return low + static_cast<int>(Next() % static_cast<std::uint64_t>(high - low + 1)); }  // both ends included
  bool Chance(double part) { return Part() < part; }
  double Normal();
  template <typename T>
  T Pick(std::initializer_list<T> choices) {
    return *(choices.begin() + Whole(0, static_cast<int>(choices.size()) - 1));
  }
  template <typename T>
  const T& Pick(const std::vector<T>& choices) {
    return choices[static_cast<std::size_t>(Whole(0, static_cast<int>(choices.size()) - 1))];
  }

 private:
  std::uint64_t state_;
};

}  // namespace islebook::paint
