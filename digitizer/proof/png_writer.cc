#include "digitizer/proof/png_writer.h"

#include <csetjmp>
#include <stdexcept>

#include <png.h>

namespace islebook {
namespace {

void OnWrite(png_structp png, png_bytep bytes, png_size_t size) {
  auto* out = static_cast<std::vector<std::uint8_t>*>(png_get_io_ptr(png));
  out->insert(out->end(), bytes, bytes + size);
}

void OnFlush(png_structp) {}

bool Write(png_structp png, png_infop info, const cv::Mat& picture, std::vector<std::uint8_t>& out) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;
  png_set_write_fn(png, &out, OnWrite, OnFlush);
  png_set_IHDR(png, info, static_cast<png_uint_32>(picture.cols), static_cast<png_uint_32>(picture.rows), 8,
               picture.channels() == 3 ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  png_set_compression_level(png, 3);
  png_set_filter(png, 0, PNG_FILTER_SUB);
  png_write_info(png, info);
  if (picture.channels() == 3) png_set_bgr(png);
  for (int y = 0; y < picture.rows; ++y) png_write_row(png, picture.ptr(y));
  png_write_end(png, info);
  return true;
}

}  // namespace

std::vector<std::uint8_t> EncodePng(const cv::Mat& picture) {
  CV_Assert(picture.depth() == CV_8U && (picture.channels() == 1 || picture.channels() == 3));
  std::vector<std::uint8_t> out;
  out.reserve(picture.total() / 2);
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
  const bool written = info != nullptr && Write(png, info, picture, out);
  png_destroy_write_struct(&png, &info);
  if (!written) throw std::runtime_error("the PNG writer failed");
  return out;
}

}  // namespace islebook
