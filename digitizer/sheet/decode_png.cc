#include <csetjmp>
#include <cstring>
#include <string>
#include <vector>

#include <png.h>

#include "digitizer/sheet/decoders.h"
#include "digitizer/sheet/exif.h"

namespace islebook {
namespace {

struct PngSource {
  Bytes bytes;
  std::size_t at = 0;
  char text[200] = {};
};

void OnRead(png_structp png, png_bytep out, png_size_t size) {
  auto* source = static_cast<PngSource*>(png_get_io_ptr(png));
  if (source->bytes.size() - source->at < size) png_error(png, "the file ends early");
  std::memcpy(out, source->bytes.data() + source->at, size);
  source->at += size;
}

void OnError(png_structp png, png_const_charp text) {
  auto* source = static_cast<PngSource*>(png_get_error_ptr(png));
  std::strncpy(source->text, text, sizeof(source->text) - 1);
  std::longjmp(*png_set_longjmp_fn(png, std::longjmp, sizeof(std::jmp_buf)), 1);
}

void OnWarning(png_structp, png_const_charp) {}

struct PngReader {
  png_structp png = nullptr;
  png_infop info = nullptr;
  PngSource source;
  ~PngReader() { png_destroy_read_struct(&png, &info, nullptr); }
};

bool ReadHeader(PngReader& reader) {
  if (setjmp(png_jmpbuf(reader.png)) != 0) return false;
  png_set_read_fn(reader.png, &reader.source, OnRead);
  png_set_user_limits(reader.png, 0x7fffffff, 0x7fffffff);  // sizes are judged by CheckSize
  png_read_info(reader.png, reader.info);
  return true;
}

// Sets the conversions to 8 bits BGR or BGRA. False on error.
bool Prepare(PngReader& reader, bool& alpha) {
  if (setjmp(png_jmpbuf(reader.png)) != 0) return false;
  png_set_expand(reader.png);
  png_set_scale_16(reader.png);
  png_set_gray_to_rgb(reader.png);
  png_set_bgr(reader.png);
  png_set_interlace_handling(reader.png);
  png_read_update_info(reader.png, reader.info);
  alpha = png_get_channels(reader.png, reader.info) == 4;
  return true;
}

bool ReadRows(PngReader& reader, std::vector<png_bytep>& rows) {
  if (setjmp(png_jmpbuf(reader.png)) != 0) return false;
  png_read_image(reader.png, rows.data());
  png_read_end(reader.png, reader.info);
  return true;
}

void ReadNotes(PngReader& reader, Picture& picture) {
  if (setjmp(png_jmpbuf(reader.png)) != 0) return;
  png_uint_32 exif_size = 0;
  png_bytep exif = nullptr;
  if (png_get_eXIf_1(reader.png, reader.info, &exif_size, &exif) != 0) picture.orientation = ReadExifOrientation({exif, exif_size});
  png_uint_32 x = 0, y = 0;
  int unit = 0;
  if (png_get_pHYs(reader.png, reader.info, &x, &y, &unit) != 0 && unit == PNG_RESOLUTION_METER && x > 0) picture.dpi = x * 0.0254;
}

}  // namespace

Result<Picture> DecodePng(Bytes bytes, const SheetOptions& options) {
  PngReader reader;
  reader.source.bytes = bytes;
  reader.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &reader.source, OnError, OnWarning);
  reader.info = reader.png != nullptr ? png_create_info_struct(reader.png) : nullptr;
  if (reader.info == nullptr) return Fail(ErrorCode::kInternal, "the PNG reader did not start.");
  if (!ReadHeader(reader)) return FailDamaged("PNG", reader.source.text);
  const auto width = png_get_image_width(reader.png, reader.info), height = png_get_image_height(reader.png, reader.info);
  if (const auto size = CheckSize(width, height, options); !size) return std::unexpected(size.error());

  bool alpha = false;
  if (!Prepare(reader, alpha)) return FailDamaged("PNG", reader.source.text);
  Picture picture;
  picture.pixels.create(static_cast<int>(height), static_cast<int>(width));
  cv::Mat4b with_alpha;
  if (alpha) with_alpha.create(picture.pixels.size());
  std::vector<png_bytep> rows(height);
  for (int y = 0; y < picture.pixels.rows; ++y)
    rows[static_cast<std::size_t>(y)] = alpha ? reinterpret_cast<png_bytep>(with_alpha[y]) : reinterpret_cast<png_bytep>(picture.pixels[y]);
  if (!ReadRows(reader, rows)) return FailDamaged("PNG", reader.source.text);
  if (alpha) CompositeOnWhite(with_alpha, picture.pixels, false);
  ReadNotes(reader, picture);
  return picture;
}

}  // namespace islebook
