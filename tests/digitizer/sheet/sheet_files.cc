#include "tests/digitizer/sheet/sheet_files.h"

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <stdexcept>

#include <fmt/format.h>
#include <jpeglib.h>
#include <png.h>
#include <tiffio.h>
#include <unistd.h>
#include <webp/encode.h>

namespace islebook::testing {
namespace {

void Append(FileBytes& out, std::uint32_t value, int size, bool little) {
  for (int i = 0; i < size; ++i) out.push_back(static_cast<std::uint8_t>(value >> 8 * (little ? i : size - 1 - i)));
}

}  // namespace

cv::Mat3b CornersPicture(int width, int height) {
  cv::Mat3b picture(height, width, cv::Vec3b(250, 250, 250));
  const int w = width / 4, h = height / 4;
  picture(cv::Rect(0, 0, w, h)).setTo(cv::Scalar(20, 20, 220));
  picture(cv::Rect(width - w, 0, w, h)).setTo(cv::Scalar(20, 180, 20));
  picture(cv::Rect(width - w, height - h, w, h)).setTo(cv::Scalar(220, 40, 20));
  picture(cv::Rect(0, height - h, w, h)).setTo(cv::Scalar(90, 90, 90));
  return picture;
}

FileBytes MakeJpeg(const cv::Mat3b& picture, const FileBytes& exif, int quality, bool gray) {
  jpeg_compress_struct info;
  jpeg_error_mgr errors;
  info.err = jpeg_std_error(&errors);
  jpeg_create_compress(&info);
  unsigned char* buffer = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&info, &buffer, &size);
  info.image_width = static_cast<JDIMENSION>(picture.cols);
  info.image_height = static_cast<JDIMENSION>(picture.rows);
  info.input_components = 3;
  info.in_color_space = JCS_EXT_BGR;
  jpeg_set_defaults(&info);
  if (gray) jpeg_set_colorspace(&info, JCS_GRAYSCALE);
  jpeg_set_quality(&info, quality, TRUE);
  for (int c = 0; c < info.num_components; ++c) info.comp_info[c].h_samp_factor = info.comp_info[c].v_samp_factor = 1;
  jpeg_start_compress(&info, TRUE);
  if (!exif.empty()) jpeg_write_marker(&info, JPEG_APP0 + 1, exif.data(), static_cast<unsigned>(exif.size()));
  for (int y = 0; y < picture.rows; ++y) {
    auto* row = const_cast<JSAMPROW>(picture.ptr(y));
    jpeg_write_scanlines(&info, &row, 1);
  }
  jpeg_finish_compress(&info);
  jpeg_destroy_compress(&info);
  FileBytes bytes(buffer, buffer + size);
  std::free(buffer);
  return bytes;
}

FileBytes MakeExif(int orientation, bool little_endian) {
  FileBytes exif{'E', 'x', 'i', 'f', 0, 0};
  const char mark = little_endian ? 'I' : 'M';
  exif.push_back(static_cast<std::uint8_t>(mark));
  exif.push_back(static_cast<std::uint8_t>(mark));
  Append(exif, 42, 2, little_endian);
  Append(exif, 8, 4, little_endian);
  Append(exif, 1, 2, little_endian);  // one entry: Orientation, SHORT
  Append(exif, 0x0112, 2, little_endian);
  Append(exif, 3, 2, little_endian);
  Append(exif, 1, 4, little_endian);
  Append(exif, static_cast<std::uint32_t>(orientation), 2, little_endian);
  Append(exif, 0, 2, little_endian);
  Append(exif, 0, 4, little_endian);
  return exif;
}

FileBytes MakePng(const cv::Mat3b& picture, const PngForm& form) {
  FileBytes out;
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(png);
  png_set_write_fn(
      png, &out,
      [](png_structp p, png_bytep data, png_size_t n) {
        auto* to = static_cast<FileBytes*>(png_get_io_ptr(p));
        to->insert(to->end(), data, data + n);
      },
      nullptr);
  int type = form.palette ? PNG_COLOR_TYPE_PALETTE : form.gray ? PNG_COLOR_TYPE_GRAY : PNG_COLOR_TYPE_RGB;
  if (form.alpha >= 0 && !form.palette) type |= PNG_COLOR_MASK_ALPHA;
  png_set_IHDR(png, info, static_cast<png_uint_32>(picture.cols), static_cast<png_uint_32>(picture.rows), form.bit_depth, type,
               form.interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  std::vector<png_color> palette;
  std::vector<FileBytes> rows;
  for (int y = 0; y < picture.rows; ++y) {
    FileBytes row;
    for (int x = 0; x < picture.cols; ++x) {
      const cv::Vec3b p = picture(y, x);
      auto put = [&](int level) { Append(row, static_cast<std::uint32_t>(form.bit_depth == 16 ? level * 257 : level), form.bit_depth / 8, false); };
      if (form.palette) {
        std::size_t at = 0;
        while (at < palette.size() && (palette[at].blue != p[0] || palette[at].green != p[1] || palette[at].red != p[2])) ++at;
        if (at == palette.size()) palette.push_back({p[2], p[1], p[0]});
        row.push_back(static_cast<std::uint8_t>(at));
      } else if (form.gray) {
        put((p[0] + p[1] + p[2]) / 3);
      } else {
        put(p[2]), put(p[1]), put(p[0]);
      }
      if (form.alpha >= 0 && !form.palette) put(form.alpha);
    }
    rows.push_back(std::move(row));
  }
  if (form.palette) png_set_PLTE(png, info, palette.data(), static_cast<int>(palette.size()));
  std::vector<png_bytep> pointers;
  for (FileBytes& row : rows) pointers.push_back(row.data());
  png_set_rows(png, info, pointers.data());
  png_write_png(png, info, PNG_TRANSFORM_IDENTITY, nullptr);
  png_destroy_write_struct(&png, &info);
  return out;
}

FileBytes MakePngHeader(std::uint32_t width, std::uint32_t height) {
  FileBytes head{0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
  FileBytes chunk{'I', 'H', 'D', 'R'};
  Append(chunk, width, 4, false);
  Append(chunk, height, 4, false);
  for (const int value : {8, 2, 0, 0, 0}) chunk.push_back(static_cast<std::uint8_t>(value));
  Append(head, 13, 4, false);
  head.insert(head.end(), chunk.begin(), chunk.end());
  std::uint32_t crc = 0xFFFFFFFFU;
  for (const std::uint8_t byte : chunk) {
    crc ^= byte;
    for (int k = 0; k < 8; ++k) crc = crc & 1 ? 0xEDB88320U ^ (crc >> 1) : crc >> 1;
  }
  Append(head, ~crc, 4, false);
  Append(head, 0, 4, false);
  for (const char c : std::string("IDAT")) head.push_back(static_cast<std::uint8_t>(c));
  Append(head, 0x35AF061E, 4, false);
  return head;
}

FileBytes MakeTiff(const cv::Mat3b& picture, int orientation, int pages) {
  char name[] = "/tmp/islebook-tiff-XXXXXX";
  const int descriptor = mkstemp(name);
  if (descriptor < 0) throw std::runtime_error("no temporary file");
  close(descriptor);
  TIFF* tiff = TIFFOpen(name, "w");
  for (int page = 0; page < pages; ++page) {
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, picture.cols);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, picture.rows);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, orientation);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_LZW);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 16);
    TIFFSetField(tiff, TIFFTAG_XRESOLUTION, 200.0);
    TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH);
    for (int y = 0; y < picture.rows; ++y) {
      std::vector<std::uint8_t> row;
      for (int x = 0; x < picture.cols; ++x)
        for (int c = 2; c >= 0; --c) row.push_back(picture(y, x)[c]);
      TIFFWriteScanline(tiff, row.data(), static_cast<std::uint32_t>(y), 0);
    }
    TIFFWriteDirectory(tiff);
  }
  TIFFClose(tiff);
  FileBytes bytes;
  std::FILE* file = std::fopen(name, "rb");
  std::uint8_t block[4096];
  for (std::size_t n = 0; (n = std::fread(block, 1, sizeof block, file)) > 0;) bytes.insert(bytes.end(), block, block + n);
  std::fclose(file);
  unlink(name);
  return bytes;
}

FileBytes MakeWebp(const cv::Mat3b& picture) {
  std::uint8_t* out = nullptr;
  const std::size_t size = WebPEncodeLosslessBGR(picture.data, picture.cols, picture.rows, static_cast<int>(picture.step), &out);
  FileBytes bytes(out, out + size);
  WebPFree(out);
  return bytes;
}

FileBytes MakeBmp(const cv::Mat3b& picture, bool top_down) {
  FileBytes bytes{'B', 'M'};
  const std::size_t row_bytes = (static_cast<std::size_t>(picture.cols) * 3 + 3) / 4 * 4;
  Append(bytes, static_cast<std::uint32_t>(54 + row_bytes * static_cast<std::size_t>(picture.rows)), 4, true);
  Append(bytes, 0, 4, true);
  Append(bytes, 54, 4, true);
  Append(bytes, 40, 4, true);
  Append(bytes, static_cast<std::uint32_t>(picture.cols), 4, true);
  Append(bytes, static_cast<std::uint32_t>(top_down ? -picture.rows : picture.rows), 4, true);
  Append(bytes, 1, 2, true);
  Append(bytes, 24, 2, true);
  for (int i = 0; i < 6; ++i) Append(bytes, 0, 4, true);
  for (int y = 0; y < picture.rows; ++y) {
    const std::size_t start = bytes.size();
    const std::uint8_t* row = picture.ptr(top_down ? y : picture.rows - 1 - y);
    bytes.insert(bytes.end(), row, row + 3 * picture.cols);
    bytes.resize(start + row_bytes);
  }
  return bytes;
}

FileBytes MakePpm(const cv::Mat3b& picture) {
  FileBytes bytes = FromText(fmt::format("P6\n# a comment\n{} {}\n255\n", picture.cols, picture.rows));
  for (const cv::Vec3b& p : picture)
    for (int c = 2; c >= 0; --c) bytes.push_back(p[c]);
  return bytes;
}

namespace {

// The objects as a PDF file; the first is the catalog.
FileBytes WritePdf(const std::vector<std::string>& objects) {
  std::string pdf = "%PDF-1.4\n";
  std::vector<std::size_t> places;
  for (const std::string& body : objects) {
    places.push_back(pdf.size());
    pdf += fmt::format("{} 0 obj\n{}\nendobj\n", places.size(), body);
  }
  const std::size_t table = pdf.size();
  pdf += fmt::format("xref\n0 {}\n0000000000 65535 f \n", places.size() + 1);
  for (const std::size_t place : places) pdf += fmt::format("{:010} 00000 n \n", place);
  pdf += fmt::format("trailer << /Size {} /Root 1 0 R >>\nstartxref\n{}\n%%EOF\n", places.size() + 1, table);
  return FromText(pdf);
}

std::string PdfStream(const std::string& facts, const std::string& content) {
  return fmt::format("<< {} /Length {} >>\nstream\n{}\nendstream", facts, content.size(), content);
}

}  // namespace

FileBytes MakePdf(double width_pt, double height_pt, double x, double y, int rotate) {
  return WritePdf(
      {"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
       fmt::format("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {} {}] /Rotate {} /Contents 4 0 R /Resources << >> >>", width_pt, height_pt, rotate),
       PdfStream("", fmt::format("0 0 0 rg {} {} 36 36 re f", x, y))});
}

FileBytes MakeScanPdf(const cv::Mat3b& scan, double dpi, int strips) {
  const double px = 72.0 / dpi;
  std::string names, content;
  std::vector<std::string> pictures;
  for (int strip = 0; strip < strips; ++strip) {
    const int top = scan.rows * strip / strips, rows = scan.rows * (strip + 1) / strips - top;
    std::string pixels;
    for (int y = top; y < top + rows; ++y)
      for (int x = 0; x < scan.cols; ++x)
        for (int c = 2; c >= 0; --c) pixels.push_back(static_cast<char>(scan(y, x)[c]));
    names += fmt::format("/S{} {} 0 R ", strip, 5 + strip);
    content += fmt::format("q {} 0 0 {} 0 {} cm /S{} Do Q\n", scan.cols * px, rows * px, (scan.rows - top - rows) * px, strip);
    pictures.push_back(PdfStream(
        fmt::format("/Type /XObject /Subtype /Image /Width {} /Height {} /ColorSpace /DeviceRGB /BitsPerComponent 8", scan.cols, rows), pixels));
  }
  std::vector<std::string> objects{
      "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
      fmt::format("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {} {}] /Contents 4 0 R /Resources << /XObject << {} >> >> >>", scan.cols * px,
                  scan.rows * px, names),
      PdfStream("", content)};
  objects.insert(objects.end(), pictures.begin(), pictures.end());
  return WritePdf(objects);
}

FileBytes FromText(const std::string& text) { return {text.begin(), text.end()}; }

}  // namespace islebook::testing
