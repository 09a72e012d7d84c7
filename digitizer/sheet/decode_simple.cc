// The two plain formats: BMP (uncompressed) and PNM (PBM, PGM, PPM; text or binary).

#include <algorithm>
#include <cctype>
#include <cstring>
#include <vector>

#include "digitizer/sheet/decoders.h"

namespace islebook {
namespace {

std::uint32_t LittleEndian(Bytes bytes, std::size_t at, int size) {
  std::uint32_t value = 0;
  for (int i = size - 1; i >= 0; --i) value = value << 8 | bytes[at + static_cast<std::size_t>(i)];
  return value;
}

// Numbers of a PNM header or text body, comments skipped.
class PnmWords {
 public:
  explicit PnmWords(Bytes bytes) : bytes_(bytes), at_(2) {}
  // -1 at the end of the file or at anything else than a number.
  std::int64_t Next(int max_digits = 9) {
    while (at_ < bytes_.size()) {
      if (bytes_[at_] == '#') {
        while (at_ < bytes_.size() && bytes_[at_] != '\n') ++at_;
      } else if (std::isspace(bytes_[at_]) != 0) {
        ++at_;
      } else {
        break;
      }
    }
    std::int64_t value = -1;
    for (int digits = 0; at_ < bytes_.size() && std::isdigit(bytes_[at_]) != 0 && digits < max_digits; ++at_, ++digits)
      value = std::max<std::int64_t>(value, 0) * 10 + (bytes_[at_] - '0');
    return value;
  }
  std::size_t at() const { return at_; }

 private:
  Bytes bytes_;
  std::size_t at_;
};

}  // namespace

Result<Picture> DecodeBmp(Bytes bytes, const SheetOptions& options) {
  if (bytes.size() < 54) return FailDamaged("BMP", "the header is cut short");
  const std::size_t pixel_offset = LittleEndian(bytes, 10, 4), header_size = LittleEndian(bytes, 14, 4);
  if (header_size < 40) return Fail(ErrorCode::kNotASheet, "the BMP file is of a very old kind; save it as PNG.");
  const auto width = static_cast<std::int32_t>(LittleEndian(bytes, 18, 4));
  const auto stored_height = static_cast<std::int32_t>(LittleEndian(bytes, 22, 4));
  const std::int64_t height = stored_height < 0 ? -static_cast<std::int64_t>(stored_height) : stored_height;
  if (const auto size = CheckSize(width, height, options); !size) return std::unexpected(size.error());
  const std::uint32_t bits = LittleEndian(bytes, 28, 2), compression = LittleEndian(bytes, 30, 4);
  if ((compression != 0 && !(compression == 3 && bits == 32)) || (bits != 1 && bits != 4 && bits != 8 && bits != 24 && bits != 32))
    return Fail(ErrorCode::kNotASheet, "the BMP file is of a rare kind; save it as PNG.");
  const std::size_t row_bytes = (static_cast<std::size_t>(width) * bits + 31) / 32 * 4;
  if (pixel_offset > bytes.size() || (bytes.size() - pixel_offset) / row_bytes < static_cast<std::size_t>(height))
    return FailDamaged("BMP", "the file ends early");

  cv::Vec3b palette[256] = {};
  if (bits <= 8) {
    std::size_t count = LittleEndian(bytes, 46, 4);
    if (count == 0 || count > (1U << bits)) count = 1U << bits;
    for (std::size_t i = 0; i < count && 14 + header_size + 4 * i + 3 < bytes.size(); ++i)
      for (std::size_t c = 0; c < 3; ++c) palette[i][static_cast<int>(c)] = bytes[14 + header_size + 4 * i + c];
  }
  Picture picture;
  picture.pixels.create(static_cast<int>(height), width);
  for (int y = 0; y < picture.pixels.rows; ++y) {
    const std::uint8_t* row = &bytes[pixel_offset + row_bytes * static_cast<std::size_t>(stored_height < 0 ? y : picture.pixels.rows - 1 - y)];
    for (int x = 0; x < width; ++x) {
      if (bits >= 24) {
        const std::uint8_t* sample = row + static_cast<std::size_t>(x) * (bits / 8);
        picture.pixels(y, x) = {sample[0], sample[1], sample[2]};
      } else {
        const std::uint32_t per_byte = 8 / bits, i = static_cast<std::uint32_t>(x);
        picture.pixels(y, x) = palette[row[i / per_byte] >> (8 - bits - bits * (i % per_byte)) & ((1U << bits) - 1)];
      }
    }
  }
  if (const std::uint32_t per_meter = LittleEndian(bytes, 38, 4); per_meter > 400 && per_meter < 400'000) picture.dpi = per_meter * 0.0254;
  return picture;
}

Result<Picture> DecodePnm(Bytes bytes, const SheetOptions& options) {
  const int kind = bytes[1] - '0';
  const bool text = kind <= 3, bitmap = kind == 1 || kind == 4;
  const int channels = kind == 3 || kind == 6 ? 3 : 1;
  PnmWords words(bytes);
  const std::int64_t width = words.Next(), height = words.Next(), top = bitmap ? 1 : words.Next();
  if (width < 0 || height < 0 || top < 1 || top > 65535) return FailDamaged("PNM", "the header is odd");
  if (const auto size = CheckSize(width, height, options); !size) return std::unexpected(size.error());
  Picture picture;
  picture.pixels.create(static_cast<int>(height), static_cast<int>(width));
  const std::size_t sample_bytes = top > 255 ? 2 : 1;
  const std::size_t row_bytes =
      bitmap ? (static_cast<std::size_t>(width) + 7) / 8 : static_cast<std::size_t>(width) * static_cast<std::size_t>(channels) * sample_bytes;
  const std::size_t start = words.at() + 1;
  if (!text && (start > bytes.size() || (bytes.size() - start) / row_bytes < static_cast<std::size_t>(height)))
    return FailDamaged("PNM", "the file ends early");
  for (int y = 0; y < picture.pixels.rows; ++y) {
    for (int x = 0; x < picture.pixels.cols; ++x) {
      for (int c = 0; c < channels; ++c) {
        std::int64_t value = 0;
        if (text) {
          value = words.Next(bitmap ? 1 : 9);
          if (value < 0) return FailDamaged("PNM", "the file ends early");
        } else {
          const std::uint8_t* row = &bytes[start + row_bytes * static_cast<std::size_t>(y)];
          const std::size_t sample = static_cast<std::size_t>(x) * static_cast<std::size_t>(channels) + static_cast<std::size_t>(c);
          if (bitmap)
            value = row[x / 8] >> (7 - x % 8) & 1;
          else
            value = sample_bytes == 2 ? row[2 * sample] << 8 | row[2 * sample + 1] : row[sample];
        }
        value = std::min(value, top) * 255 / top;
        if (bitmap) value = 255 - value;
        const auto level = static_cast<std::uint8_t>(value);
        if (channels == 3)
          picture.pixels(y, x)[2 - c] = level;
        else
          picture.pixels(y, x) = cv::Vec3b::all(level);
      }
    }
  }
  return picture;
}

}  // namespace islebook
