#include <csetjmp>
#include <cstdio>
#include <cstring>

#include <jerror.h>
#include <jpeglib.h>

#include "digitizer/sheet/decoders.h"
#include "digitizer/sheet/exif.h"

namespace islebook {
namespace {

// libjpeg reports by callbacks; errors leave through longjmp, so nothing with a destructor may live between setjmp and there.
struct JpegErrors {
  jpeg_error_mgr base;
  std::jmp_buf leave;
  char text[JMSG_LENGTH_MAX];
  bool damaged;
};

void OnError(j_common_ptr info) {
  auto* errors = reinterpret_cast<JpegErrors*>(info->err);
  info->err->format_message(info, errors->text);
  std::longjmp(errors->leave, 1);
}

void OnMessage(j_common_ptr info, int level) {
  if (level >= 0) return;
  auto* errors = reinterpret_cast<JpegErrors*>(info->err);
  switch (info->err->msg_code) {
    case JWRN_JPEG_EOF:
    case JWRN_HIT_MARKER:
    case JWRN_HUFF_BAD_CODE:
    case JWRN_MUST_RESYNC:
    case JWRN_NOT_SEQUENTIAL:
      if (!errors->damaged) info->err->format_message(info, errors->text);
      errors->damaged = true;
      break;
    default: break;  // stray bytes before a marker and the like do no harm
  }
}

// Stored as four inks; most writers store them inverted.
void CmykToBgr(const std::uint8_t* row, int width, bool inverted, cv::Vec3b* out) {
  for (int x = 0; x < width; ++x) {
    int part[4];
    for (int c = 0; c < 4; ++c) part[c] = inverted ? row[4 * x + c] : 255 - row[4 * x + c];
    for (int c = 0; c < 3; ++c) out[x][2 - c] = static_cast<std::uint8_t>(part[c] * part[3] / 255);
  }
}

struct Decompress {
  jpeg_decompress_struct info{};
  JpegErrors errors{};
  ~Decompress() { jpeg_destroy_decompress(&info); }
};

bool ReadHeader(Decompress& jpeg, Bytes bytes) {
  jpeg.info.err = jpeg_std_error(&jpeg.errors.base);
  jpeg.errors.base.error_exit = OnError;
  jpeg.errors.base.emit_message = OnMessage;
  if (setjmp(jpeg.errors.leave) != 0) return false;
  jpeg_create_decompress(&jpeg.info);
  jpeg_mem_src(&jpeg.info, bytes.data(), bytes.size());
  jpeg_save_markers(&jpeg.info, JPEG_APP0 + 1, 0xFFFF);
  return jpeg_read_header(&jpeg.info, TRUE) == JPEG_HEADER_OK;
}

bool ReadRows(Decompress& jpeg, cv::Mat3b& pixels, std::uint8_t* cmyk_row) {
  if (setjmp(jpeg.errors.leave) != 0) return false;
  jpeg_start_decompress(&jpeg.info);
  while (jpeg.info.output_scanline < jpeg.info.output_height) {
    auto* out = pixels[static_cast<int>(jpeg.info.output_scanline)];
    JSAMPROW row = cmyk_row != nullptr ? cmyk_row : reinterpret_cast<JSAMPROW>(out);
    jpeg_read_scanlines(&jpeg.info, &row, 1);
    if (cmyk_row != nullptr) CmykToBgr(cmyk_row, static_cast<int>(jpeg.info.output_width), jpeg.info.saw_Adobe_marker != 0, out);
    if (jpeg.errors.damaged) return false;
  }
  jpeg_finish_decompress(&jpeg.info);
  return !jpeg.errors.damaged;
}

}  // namespace

Result<Picture> DecodeJpeg(Bytes bytes, const SheetOptions& options) {
  Decompress jpeg;
  if (!ReadHeader(jpeg, bytes)) return FailDamaged("JPEG", jpeg.errors.text);
  if (const auto size = CheckSize(jpeg.info.image_width, jpeg.info.image_height, options); !size) return std::unexpected(size.error());

  Picture picture;
  for (jpeg_saved_marker_ptr marker = jpeg.info.marker_list; marker != nullptr; marker = marker->next) {
    if (marker->marker != JPEG_APP0 + 1 || marker->data_length < 6 || std::memcmp(marker->data, "Exif", 4) != 0) continue;
    picture.orientation = ReadExifOrientation({marker->data, marker->data_length});
    break;
  }
  if (jpeg.info.saw_JFIF_marker != 0 && jpeg.info.X_density > 1) {
    if (jpeg.info.density_unit == 1) picture.dpi = jpeg.info.X_density;
    if (jpeg.info.density_unit == 2) picture.dpi = jpeg.info.X_density * 2.54;
  }
  const bool four_inks = jpeg.info.jpeg_color_space == JCS_CMYK || jpeg.info.jpeg_color_space == JCS_YCCK;
  jpeg.info.out_color_space = four_inks ? JCS_CMYK : JCS_EXT_BGR;
  picture.pixels.create(static_cast<int>(jpeg.info.image_height), static_cast<int>(jpeg.info.image_width));
  std::vector<std::uint8_t> cmyk_row(four_inks ? 4 * static_cast<std::size_t>(jpeg.info.image_width) : 0);
  if (!ReadRows(jpeg, picture.pixels, four_inks ? cmyk_row.data() : nullptr)) return FailDamaged("JPEG", jpeg.errors.text);
  return picture;
}

}  // namespace islebook
