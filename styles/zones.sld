<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- The outline alone. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>zones</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Zones</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:Name>zone</se:Name>
          <se:Description><se:Title>zone</se:Title></se:Description>
          <se:PolygonSymbolizer>
            <se:Stroke>
              <se:SvgParameter name="stroke">#101010</se:SvgParameter>
              <se:SvgParameter name="stroke-width">1.4</se:SvgParameter>
            </se:Stroke>
          </se:PolygonSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
