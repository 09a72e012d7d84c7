#pragma once
// What islebook parcel says of a parcel, as text and as JSON.

#include <filesystem>
#include <string>
#include <vector>

#include "mapstore/parcel/parcel.h"
#include "ui/desk/parcel_words.h"

namespace islebook {

// `foreseen`: empty where there is no shelf yet.
std::string LookText(const Parcel& parcel, const ParcelTrust& trust, const std::vector<Foreseen>& foreseen);
std::string LookJson(const std::filesystem::path& file, const Parcel& parcel, const ParcelTrust& trust, const std::vector<Foreseen>& foreseen);

std::string UnpackedText(const Parcel& parcel, const ParcelTrust& trust, const std::vector<ReceivedMap>& received);
std::string UnpackedJson(const std::filesystem::path& file, const std::filesystem::path& shelf, const Parcel& parcel, const ParcelTrust& trust,
                         const std::vector<ReceivedMap>& received);

}  // namespace islebook
