#include "digitizer/sheet/exif.h"

#include <cstring>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

// Reads 2 and 4 byte numbers in the block's own byte order; out of bounds reads give 0.
class TiffReader {
 public:
  TiffReader(std::span<const std::uint8_t> bytes, bool little) : bytes_(bytes), little_(little) {}
  std::uint32_t Number(std::size_t at, int size) const {
    if (at > bytes_.size() || bytes_.size() - at < static_cast<std::size_t>(size)) return 0;
    std::uint32_t value = 0;
    for (int i = 0; i < size; ++i) value = (value << 8) | bytes_[at + static_cast<std::size_t>(little_ ? size - 1 - i : i)];
    return value;
  }

 private:
  std::span<const std::uint8_t> bytes_;
  bool little_;
};

}  // namespace

int ReadExifOrientation(std::span<const std::uint8_t> block) {
  if (block.size() >= 6 && std::memcmp(block.data(), "Exif", 4) == 0 && block[4] == 0) block = block.subspan(6);
  if (block.size() < 8) return 1;
  const bool little = block[0] == 'I' && block[1] == 'I';
  if (!little && !(block[0] == 'M' && block[1] == 'M')) return 1;
  const TiffReader reader(block, little);
  if (reader.Number(2, 2) != 42) return 1;
  const std::size_t directory = reader.Number(4, 4);
  const std::uint32_t entries = reader.Number(directory, 2);
  for (std::uint32_t i = 0; i < entries; ++i) {
    const std::size_t entry = directory + 2 + 12 * static_cast<std::size_t>(i);
    if (entry >= block.size()) break;
    if (reader.Number(entry, 2) != 0x0112) continue;
    // A short by the standard; some writers store a long.
    const std::uint32_t value = reader.Number(entry + 2, 2) == 4 ? reader.Number(entry + 8, 4) : reader.Number(entry + 8, 2);
    return value >= 1 && value <= 8 ? static_cast<int>(value) : 1;
  }
  return 1;
}

cv::Mat3b TurnUpright(const cv::Mat3b& stored, int orientation) {
  cv::Mat3b upright;
  switch (orientation) {
    case 2: cv::flip(stored, upright, 1); break;
    case 3: cv::rotate(stored, upright, cv::ROTATE_180); break;
    case 4: cv::flip(stored, upright, 0); break;
    case 5: cv::transpose(stored, upright); break;
    case 6: cv::rotate(stored, upright, cv::ROTATE_90_CLOCKWISE); break;
    case 7:
      cv::transpose(stored, upright);
      cv::flip(upright, upright, -1);
      break;
    case 8: cv::rotate(stored, upright, cv::ROTATE_90_COUNTERCLOCKWISE); break;
    default: upright = stored; break;
  }
  return upright;
}

}  // namespace islebook
