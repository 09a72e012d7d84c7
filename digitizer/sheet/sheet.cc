#include "digitizer/sheet/sheet.h"

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <string_view>
#include <vector>

#include <fmt/format.h>
#include <sodium.h>
#include <sys/stat.h>
#include <opencv2/core.hpp>

#include "digitizer/sheet/decoders.h"
#include "digitizer/sheet/exif.h"

namespace islebook {
namespace {

constexpr std::size_t kMostFileBytes = 512U << 20;

std::string Sha256(Bytes bytes) {
  std::array<std::uint8_t, crypto_hash_sha256_BYTES> hash{};
  crypto_hash_sha256(hash.data(), bytes.data(), bytes.size());
  std::string hex;
  for (const std::uint8_t byte : hash) hex += fmt::format("{:02x}", byte);
  return hex;
}

bool StartsWith(Bytes bytes, std::string_view start) {
  return bytes.size() >= start.size() && std::memcmp(bytes.data(), start.data(), start.size()) == 0;
}

bool LooksLikeSvg(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front())) != 0) text.remove_prefix(1);
  return text.starts_with("<") && text.substr(0, 65536).find("<svg") != std::string_view::npos;
}

// By content, never by name.
std::string FormatOf(Bytes bytes) {
  using namespace std::string_view_literals;
  if (StartsWith(bytes, "\xFF\xD8"sv)) return "jpeg";
  if (StartsWith(bytes, "\x89PNG\r\n\x1A\n"sv)) return "png";
  if (StartsWith(bytes, "II*\0"sv) || StartsWith(bytes, "MM\0*"sv) || StartsWith(bytes, "II+\0"sv) || StartsWith(bytes, "MM\0+"sv)) return "tiff";
  if (StartsWith(bytes, "RIFF"sv) && bytes.size() >= 12 && std::memcmp(&bytes[8], "WEBP", 4) == 0) return "webp";
  if (StartsWith(bytes, "BM"sv) && bytes.size() >= 26) return "bmp";
  if (bytes.size() >= 8 && bytes[0] == 'P' && bytes[1] >= '1' && bytes[1] <= '6' && std::isspace(bytes[2]) != 0) return "pnm";
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  if (text.substr(0, 1024).find("%PDF-") != std::string_view::npos) return "pdf";
  if (LooksLikeSvg(text)) return "svg";
  return {};
}

std::unexpected<Error> FailForeign(Bytes bytes) {
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  if (bytes.size() >= 12 && std::memcmp(&bytes[4], "ftyp", 4) == 0)
    return Fail(ErrorCode::kNotASheet, "this is a HEIF or video file, which is not read; save the photograph as JPEG.");
  if (StartsWith(bytes, "GIF8")) return Fail(ErrorCode::kNotASheet, "this is a GIF, which is not read; save it as PNG.");
  bool printable = true;
  for (const unsigned char c : text.substr(0, 2000)) printable = printable && (c >= 32 || c == '\n' || c == '\r' || c == '\t');
  if (printable) return Fail(ErrorCode::kNotASheet, "this is text, not a picture; give a JPEG, PNG, TIFF, WebP, BMP, PNM, PDF or SVG file.");
  return Fail(ErrorCode::kNotASheet, "this is not a picture of a kind that is read; give a JPEG, PNG, TIFF, WebP, BMP, PNM, PDF or SVG file.");
}

Result<Picture> DecodeAs(const std::string& format, Bytes bytes, const SheetOptions& options) {
  if (format != "tiff" && format != "pdf" && options.page != 1)
    return Fail(ErrorCode::kNotFound, fmt::format("the file has one page, so there is no page {}.", options.page));
  if (format == "jpeg") return DecodeJpeg(bytes, options);
  if (format == "png") return DecodePng(bytes, options);
  if (format == "tiff") return DecodeTiff(bytes, options);
  if (format == "webp") return DecodeWebp(bytes, options);
  if (format == "bmp") return DecodeBmp(bytes, options);
  if (format == "pnm") return DecodePnm(bytes, options);
  if (format == "pdf") return DrawPdfPage(bytes, options);
  return DrawSvgPage(bytes, options);
}

}  // namespace

Result<void> SheetOptions::Check() const {
  if (page < 1) return Fail(ErrorCode::kInvalidArgument, "pages are counted from 1.", "page");
  if (page_dpi && !(*page_dpi >= 72.0 && *page_dpi <= 1200.0))
    return Fail(ErrorCode::kInvalidArgument, "the resolution of pages must lie between 72 and 1200 dpi.", "page_dpi");
  if (max_pixels < 1 || max_pixels > 1'000'000'000)
    return Fail(ErrorCode::kInvalidArgument, "the largest picture must have between 1 and 1,000,000,000 pixels.", "max_pixels");
  if (min_side_px < 1) return Fail(ErrorCode::kInvalidArgument, "the smallest side must be at least 1 pixel.", "min_side_px");
  return {};
}

Result<void> CheckSize(std::int64_t width, std::int64_t height, const SheetOptions& options) {
  if (width <= 0 || height <= 0) return Fail(ErrorCode::kNotASheet, "the picture says that it has no pixels; save it anew.");
  if (width > 65535 || height > 65535 || width * height > options.max_pixels)
    return Fail(ErrorCode::kSheetTooLarge, fmt::format("the picture is too large ({} x {} pixels; at most {} million are read); save a smaller copy.",
                                                       width, height, options.max_pixels / 1'000'000));
  if (width < options.min_side_px || height < options.min_side_px)
    return Fail(ErrorCode::kSheetTooSmall,
                fmt::format("the picture is too small to hold a map ({} x {} pixels; at least {} each way); give a larger copy.", width, height,
                            options.min_side_px));
  return {};
}

std::unexpected<Error> FailDamaged(const std::string& format, const std::string& detail) {
  const std::string more = detail.empty() ? "" : fmt::format(" ({})", detail);
  return Fail(ErrorCode::kNotASheet, fmt::format("the {} file is damaged or cut short{}; copy or save it again.", format, more));
}

void CompositeOnWhite(const cv::Mat4b& bgra, cv::Mat3b& bgr, bool premultiplied) {
  bgr.create(bgra.size());
  for (int y = 0; y < bgra.rows; ++y) {
    const cv::Vec4b* from = bgra[y];
    cv::Vec3b* to = bgr[y];
    for (int x = 0; x < bgra.cols; ++x) {
      const int alpha = from[x][3];
      for (int c = 0; c < 3; ++c) {
        const int over = premultiplied ? from[x][c] * 255 : from[x][c] * alpha;
        to[x][c] = static_cast<std::uint8_t>(std::min(255, (over + (255 - alpha) * 255 + 127) / 255));
      }
    }
  }
}

Result<Sheet> DecodeSheet(std::span<const std::uint8_t> bytes, std::string file_name, const SheetOptions& options) {
  if (const auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  auto refuse = [&file_name](Error error) {
    error.place = file_name;
    return std::unexpected(std::move(error));
  };
  if (bytes.empty()) return refuse({ErrorCode::kNotASheet, "the file is empty; give a picture, PDF or SVG file.", ""});
  Sheet sheet;
  sheet.format = FormatOf(bytes);
  if (sheet.format.empty()) return refuse(FailForeign(bytes).error());
  try {
    auto picture = DecodeAs(sheet.format, bytes, options);
    if (!picture) return refuse(picture.error());
    sheet.pixels = TurnUpright(picture->pixels, picture->orientation);
    sheet.dpi = picture->dpi;
    sheet.source = std::move(picture->source);
    sheet.scan = std::move(picture->scan);
  } catch (const std::bad_alloc&) {
    return refuse({ErrorCode::kSheetTooLarge, "there is not enough memory for the picture; save a smaller copy.", ""});
  } catch (const cv::Exception& failure) {
    return refuse({ErrorCode::kInternal, fmt::format("the picture could not be decoded: {}.", failure.err), ""});
  }
  sheet.sha256 = Sha256(bytes);
  sheet.page = options.page;
  sheet.file = std::move(file_name);
  return sheet;
}

int CountPages(std::span<const std::uint8_t> bytes) {
  const std::string format = bytes.empty() ? std::string() : FormatOf(bytes);
  const int pages = format == "pdf" ? CountPdfPages(bytes) : format == "tiff" ? CountTiffPages(bytes) : 1;
  return std::max(1, pages);
}

Result<std::vector<std::uint8_t>> ReadSheetBytes(const std::filesystem::path& file) {
  const std::string name = file.string();
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> stream(std::fopen(file.c_str(), "rb"), std::fclose);
  if (!stream) {
    const int reason = errno;
    return Fail(ErrorCode::kCannotRead, fmt::format("cannot be opened: {}.", reason == ENOENT ? "there is no such file" : std::strerror(reason)),
                name);
  }
  struct stat facts{};
  if (fstat(fileno(stream.get()), &facts) == 0) {
    if (S_ISDIR(facts.st_mode)) return Fail(ErrorCode::kCannotRead, "this is a folder; name the picture files in it.", name);
    if (S_ISREG(facts.st_mode) && static_cast<std::uint64_t>(facts.st_size) > kMostFileBytes)
      return Fail(ErrorCode::kSheetTooLarge,
                  fmt::format("the file is too large ({} MB; at most {} are read); save a smaller copy.", facts.st_size >> 20, kMostFileBytes >> 20),
                  name);
  }
  std::vector<std::uint8_t> bytes;
  if (S_ISREG(facts.st_mode)) bytes.reserve(static_cast<std::size_t>(facts.st_size) + 1);
  for (std::size_t n = 1; n > 0;) {
    const std::size_t had = bytes.size();
    bytes.resize(had < bytes.capacity() ? bytes.capacity() : had + (1U << 16));
    n = std::fread(bytes.data() + had, 1, bytes.size() - had, stream.get());
    bytes.resize(had + n);
    if (bytes.size() > kMostFileBytes) return Fail(ErrorCode::kSheetTooLarge, "the file is too large; save a smaller copy.", name);
  }
  if (std::ferror(stream.get()) != 0) return Fail(ErrorCode::kCannotRead, fmt::format("cannot be read: {}.", std::strerror(errno)), name);
  return bytes;
}

Result<Sheet> ReadSheet(const std::filesystem::path& file, const SheetOptions& options) {
  const auto bytes = ReadSheetBytes(file);
  if (!bytes) return std::unexpected(bytes.error());
  auto sheet = DecodeSheet(*bytes, file.filename().string(), options);
  if (!sheet) {
    Error error = sheet.error();
    if (error.code != ErrorCode::kInvalidArgument) error.place = file.string();
    return std::unexpected(std::move(error));
  }
  return sheet;
}

}  // namespace islebook
