# What a sizing tool links: mapstore's layers for C++ (find_package(islebook), pkg-config islebook-cpp) and the C library (pkg-config islebook).
# cmake --install build/release --component mapstore --prefix DIR installs these alone.
include(CMakePackageConfigHelpers)
set(ISLEBOOK_PACKAGE_DIR ${CMAKE_INSTALL_LIBDIR}/cmake/islebook)
set(ISLEBOOK_LAYERS units map shelf surface query answers bench)

set(targets islebook_flags islebook_c)
foreach(layer ${ISLEBOOK_LAYERS})
  list(APPEND targets islebook_${layer})
  set_target_properties(islebook_${layer} PROPERTIES EXPORT_NAME ${layer})
  install(DIRECTORY ${CMAKE_SOURCE_DIR}/mapstore/${layer} DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/islebook/mapstore COMPONENT mapstore FILES_MATCHING PATTERN "*.h"
    PATTERN strict_json.h EXCLUDE PATTERN copy_tables.h EXCLUDE PATTERN database.h EXCLUDE PATTERN database_shelf.h EXCLUDE PATTERN "sqlite_database.h" EXCLUDE PATTERN "sqlite_schema.h" EXCLUDE
    PATTERN server EXCLUDE)
endforeach()
set_target_properties(islebook_flags PROPERTIES EXPORT_NAME flags)
set_target_properties(islebook_c PROPERTIES EXPORT_NAME c)
install(TARGETS ${targets} EXPORT islebook
  LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT mapstore NAMELINK_COMPONENT mapstore
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT mapstore)
install(FILES ${CMAKE_SOURCE_DIR}/mapstore/capi/islebook.h ${CMAKE_SOURCE_DIR}/mapstore/capi/islebook_bench.h DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT mapstore)
install(DIRECTORY ${CMAKE_SOURCE_DIR}/mapstore/python/islebook DESTINATION lib/python3/dist-packages COMPONENT mapstore FILES_MATCHING PATTERN "*.py" PATTERN py.typed)

install(EXPORT islebook NAMESPACE islebook:: FILE islebookTargets.cmake DESTINATION ${ISLEBOOK_PACKAGE_DIR} COMPONENT mapstore)
write_basic_package_version_file(${CMAKE_BINARY_DIR}/package/islebookConfigVersion.cmake COMPATIBILITY SameMinorVersion)
configure_package_config_file(${CMAKE_SOURCE_DIR}/cmake/islebookConfig.cmake.in ${CMAKE_BINARY_DIR}/package/islebookConfig.cmake
  INSTALL_DESTINATION ${ISLEBOOK_PACKAGE_DIR})
install(FILES ${CMAKE_BINARY_DIR}/package/islebookConfig.cmake ${CMAKE_BINARY_DIR}/package/islebookConfigVersion.cmake
  DESTINATION ${ISLEBOOK_PACKAGE_DIR} COMPONENT mapstore)

foreach(name islebook islebook-cpp)
  configure_file(${CMAKE_SOURCE_DIR}/cmake/${name}.pc.in ${CMAKE_BINARY_DIR}/package/${name}.pc @ONLY)
  install(FILES ${CMAKE_BINARY_DIR}/package/${name}.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig COMPONENT mapstore)
endforeach()
