#pragma once
// Plain values in a row of bytes, and back. For what is cached and may be made again at any time: numbers stand as they do in memory, least byte first on every
// machine that Islebook is built for. Internal to mapstore.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace islebook {

class PackedWriter {
 public:
  template <typename T>
  void Put(T value) {
    static_assert(std::is_trivially_copyable_v<T>);
    bytes_.append(reinterpret_cast<const char*>(&value), sizeof(T));
  }
  template <typename T>
  void PutMany(const std::vector<T>& values) {
    static_assert(std::is_trivially_copyable_v<T>);
    Put(static_cast<std::uint32_t>(values.size()));
    bytes_.append(reinterpret_cast<const char*>(values.data()), values.size() * sizeof(T));
  }
  void PutText(const std::string& text) {
    Put(static_cast<std::uint32_t>(text.size()));
    bytes_ += text;
  }
  std::string& bytes() { return bytes_; }

 private:
  std::string bytes_;
};

// Whatever does not fit leaves it failed, and reading on gives nothing; nothing is taken on trust but the bytes that are there.
class PackedReader {
 public:
  explicit PackedReader(std::string_view bytes) : bytes_(bytes) {}
  bool good() const { return good_; }
  bool at_end() const { return good_ && bytes_.empty(); }
  void Fail() { good_ = false; }

  template <typename T>
  T Get() {
    static_assert(std::is_trivially_copyable_v<T> && !std::is_same_v<T, bool>);
    T value{};
    const std::string_view raw = Take(sizeof(T));
    if (good_) std::memcpy(&value, raw.data(), sizeof(T));
    if constexpr (std::is_floating_point_v<T>) {
      if (!std::isfinite(value)) good_ = false;
    }
    return good_ ? value : T{};
  }
  // At most `most` of them.
  template <typename T>
  std::vector<T> GetMany(std::size_t most) {
    const std::size_t count = Get<std::uint32_t>();
    if (count > most) good_ = false;
    const std::string_view raw = good_ ? Take(count * sizeof(T)) : std::string_view();
    if (!good_) return {};
    std::vector<T> values(count);
    if (count > 0) std::memcpy(values.data(), raw.data(), raw.size());
    if constexpr (std::is_floating_point_v<T>) {
      for (const T value : values)
        if (!std::isfinite(value)) good_ = false;
    }
    return values;
  }
  std::string GetText(std::size_t most) {
    const std::size_t size = Get<std::uint32_t>();
    if (size > most) good_ = false;
    return good_ ? std::string(Take(size)) : std::string();
  }

 private:
  std::string_view Take(std::size_t size) {
    if (!good_ || size > bytes_.size()) {
      good_ = false;
      return {};
    }
    const std::string_view taken = bytes_.substr(0, size);
    bytes_.remove_prefix(size);
    return taken;
  }

  std::string_view bytes_;
  bool good_ = true;
};

// Tells whether bytes are still those that were written: against a bad disk, not against people.
inline std::uint64_t SumOf(std::string_view bytes) {
  std::uint64_t sum = 0x9e3779b97f4a7c15u ^ bytes.size();
  for (std::size_t at = 0; at < bytes.size(); at += sizeof(sum)) {
    std::uint64_t word = 0;
    std::memcpy(&word, bytes.data() + at, std::min(sizeof(word), bytes.size() - at));
    sum = (sum ^ word) * 0xff51afd7ed558ccdu;
    sum ^= sum >> 32;
  }
  return sum;
}

}  // namespace islebook
