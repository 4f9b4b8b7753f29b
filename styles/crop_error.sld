<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Error or variation of a crop map: pale (little) to plum (much), one hue, lightness falls all the
     way. Stops are shares, 0 to 1, of the range of a map; each result carries its own copy. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>crop_error</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Error of a crop map</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Interpolate fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:InterpolationPoint><se:Data>0.00</se:Data><se:Value>#faf4f2</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.25</se:Data><se:Value>#e0c7c6</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.50</se:Data><se:Value>#bd969f</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>0.75</se:Data><se:Value>#8c6079</se:Value></se:InterpolationPoint>
                <se:InterpolationPoint><se:Data>1.00</se:Data><se:Value>#542f55</se:Value></se:InterpolationPoint>
              </se:Interpolate>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
