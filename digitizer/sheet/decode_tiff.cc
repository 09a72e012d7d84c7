#include <algorithm>
#include <cstdarg>
#include <cstdio>
#include <cstring>

#include <fmt/format.h>
#include <tiffio.h>

#include "digitizer/sheet/decoders.h"

namespace islebook {
namespace {

struct TiffSource {
  Bytes bytes;
  std::size_t at = 0;
  std::string text;
};

tmsize_t OnRead(thandle_t handle, void* out, tmsize_t size) {
  auto* source = static_cast<TiffSource*>(handle);
  const std::size_t left = source->at < source->bytes.size() ? source->bytes.size() - source->at : 0;
  const std::size_t n = std::min(left, static_cast<std::size_t>(size));
  if (n > 0) std::memcpy(out, source->bytes.data() + source->at, n);
  source->at += n;
  return static_cast<tmsize_t>(n);
}

tmsize_t OnWrite(thandle_t, void*, tmsize_t) { return 0; }

toff_t OnSeek(thandle_t handle, toff_t offset, int whence) {
  auto* source = static_cast<TiffSource*>(handle);
  const toff_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? source->at : source->bytes.size();
  source->at = static_cast<std::size_t>(base + offset);
  return source->at;
}

int OnClose(thandle_t) { return 0; }
toff_t OnSize(thandle_t handle) { return static_cast<TiffSource*>(handle)->bytes.size(); }

int OnError(TIFF*, void* user, const char*, const char* format, va_list arguments) {
  auto* source = static_cast<TiffSource*>(user);
  char text[200];
  std::vsnprintf(text, sizeof(text), format, arguments);
  if (source->text.empty()) source->text = text;
  return 1;
}

int OnWarning(TIFF*, void*, const char*, const char*, va_list) { return 1; }

struct Close {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }
};
struct FreeOptions {
  void operator()(TIFFOpenOptions* open_options) const { TIFFOpenOptionsFree(open_options); }
};

std::unique_ptr<TIFF, Close> OpenTiff(TiffSource& source) {
  const std::unique_ptr<TIFFOpenOptions, FreeOptions> open_options(TIFFOpenOptionsAlloc());
  TIFFOpenOptionsSetErrorHandlerExtR(open_options.get(), OnError, &source);
  TIFFOpenOptionsSetWarningHandlerExtR(open_options.get(), OnWarning, &source);
  return std::unique_ptr<TIFF, Close>(
      TIFFClientOpenExt("sheet", "rm", &source, OnRead, OnWrite, OnSeek, OnClose, OnSize, nullptr, nullptr, open_options.get()));
}

}  // namespace

int CountTiffPages(Bytes bytes) {
  TiffSource source{bytes, 0, {}};
  const auto tiff = OpenTiff(source);
  return tiff ? static_cast<int>(TIFFNumberOfDirectories(tiff.get())) : 0;
}

Result<Picture> DecodeTiff(Bytes bytes, const SheetOptions& options) {
  TiffSource source{bytes, 0, {}};
  const auto tiff = OpenTiff(source);
  if (!tiff) return FailDamaged("TIFF", source.text);
  if (options.page > 1 && TIFFSetDirectory(tiff.get(), static_cast<tdir_t>(options.page - 1)) == 0)
    return Fail(ErrorCode::kNotFound, fmt::format("the TIFF has no page {}; choose an earlier page.", options.page));

  std::uint32_t width = 0, height = 0;
  TIFFGetField(tiff.get(), TIFFTAG_IMAGEWIDTH, &width);
  TIFFGetField(tiff.get(), TIFFTAG_IMAGELENGTH, &height);
  if (const auto size = CheckSize(width, height, options); !size) return std::unexpected(size.error());
  std::uint16_t orientation = ORIENTATION_TOPLEFT, resolution_unit = RESUNIT_INCH;
  float resolution = 0.0F;
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_ORIENTATION, &orientation);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_RESOLUTIONUNIT, &resolution_unit);
  TIFFGetField(tiff.get(), TIFFTAG_XRESOLUTION, &resolution);

  Picture picture;
  picture.orientation = orientation >= 1 && orientation <= 8 ? orientation : 1;
  if (resolution > 1.0F && resolution_unit == RESUNIT_INCH) picture.dpi = resolution;
  if (resolution > 1.0F && resolution_unit == RESUNIT_CENTIMETER) picture.dpi = resolution * 2.54;
  cv::Mat4b rgba(static_cast<int>(height), static_cast<int>(width));
  // Asking for the stored orientation leaves the rows as they are.
  if (TIFFReadRGBAImageOriented(tiff.get(), width, height, reinterpret_cast<std::uint32_t*>(rgba.data), picture.orientation, 1) == 0)
    return FailDamaged("TIFF", source.text);
  for (cv::Vec4b& pixel : rgba) std::swap(pixel[0], pixel[2]);
  picture.pixels.create(rgba.size());
  CompositeOnWhite(rgba, picture.pixels, true);
  return picture;
}

}  // namespace islebook
