<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Crop over the median of the field. Pale, so that lines drawn over it stay readable. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>crop</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Crop index</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Interpolate fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:InterpolationPoint><se:Data>0.5</se:Data><se:Value>#faf6f1</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.7</se:Data><se:Value>#edede0</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.9</se:Data><se:Value>#d8e0c9</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>1.1</se:Data><se:Value>#bad1af</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>1.3</se:Data><se:Value>#94be94</se:Value></se:InterpolationPoint>
              </se:Interpolate>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
