#include <cstring>

#include <webp/decode.h>

#include "digitizer/sheet/decoders.h"
#include "digitizer/sheet/exif.h"

namespace islebook {
namespace {

std::uint32_t LittleEndian(const std::uint8_t* p) { return p[0] | p[1] << 8 | p[2] << 16 | static_cast<std::uint32_t>(p[3]) << 24; }

// The RIFF chunk named EXIF, if there is one.
int ReadOrientation(Bytes bytes) {
  for (std::size_t at = 12; at + 8 <= bytes.size();) {
    const std::size_t size = LittleEndian(&bytes[at + 4]);
    if (size > bytes.size() - at - 8) break;
    if (std::memcmp(&bytes[at], "EXIF", 4) == 0) return ReadExifOrientation(bytes.subspan(at + 8, size));
    at += 8 + size + (size & 1);
  }
  return 1;
}

}  // namespace

Result<Picture> DecodeWebp(Bytes bytes, const SheetOptions& options) {
  WebPBitstreamFeatures features;
  if (WebPGetFeatures(bytes.data(), bytes.size(), &features) != VP8_STATUS_OK) return FailDamaged("WebP", "");
  if (features.has_animation != 0) return Fail(ErrorCode::kNotASheet, "the WebP file is a moving picture; save one frame of it as a still picture.");
  if (const auto size = CheckSize(features.width, features.height, options); !size) return std::unexpected(size.error());
  Picture picture;
  picture.orientation = ReadOrientation(bytes);
  picture.pixels.create(features.height, features.width);
  if (features.has_alpha != 0) {
    cv::Mat4b bgra(features.height, features.width);
    if (WebPDecodeBGRAInto(bytes.data(), bytes.size(), bgra.data, bgra.total() * 4, static_cast<int>(bgra.step)) == nullptr)
      return FailDamaged("WebP", "");
    CompositeOnWhite(bgra, picture.pixels, false);
  } else if (WebPDecodeBGRInto(bytes.data(), bytes.size(), picture.pixels.data, picture.pixels.total() * 3, static_cast<int>(picture.pixels.step)) ==
             nullptr) {
    return FailDamaged("WebP", "");
  }
  return picture;
}

}  // namespace islebook
